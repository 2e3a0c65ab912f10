"""The invented people: members of the Lantern Hill club, visitors, and one student.

Nobody here is meant to be anyone. Ratings drift over the season by the
number of days, not by results, so that each game can be made by itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from random import Random

SEASON_START = date(2025, 9, 1)
SEASON_END = date(2026, 6, 30)

MEMBERS = """
Aldous, Fern; Amadi, Chike; Anand-Price, Leela; Ashdown, Gerald; Atkin, Moira; Babic, Zdenka;
Bakker-Lowe, Joost; Barlow, Kenneth; Bassett, Ivy; Bellweather, Tom; Benali, Samira; Birkett, Noel;
Bjornsen, Tuva; Blakeway, Priscilla; Bonfanti, Elio; Bramhall, Derek; Brightwell, Nancy;
Calloway, Everett; Carvalheira, Rui; Chaudhry-Dean, Bilal; Cheung-Wells, Mabel; Clegg, Dorothy;
Corrigan, Padraig; Crowther, Hugh; Dabrowka, Halina; Dacosta-Finch, Ines; Danjuma, Hauwa;
Deverell, Rowan; Dimitrakou, Eleni; Dobbs, Percy; Drummond-Rae, Callum; Duquesnoy, Odile;
Eastgate, Marian; Edgecombe, Ralph; Ekberg, Lovisa; Emslie, Fraser; Enfield, Rosalind;
Faircloth, Wendy; Farrugia, Karmenu; Fenwick, Judith; Fitchett, Alan; Forde-Amos, Delroy;
Gadsby, Pauline; Gallacher, Struan; Garside, Edna; Gebremariam, Selam; Gilfoyle, Brendan;
Goodspeed, Arthur; Grieve, Isla; Gupta-Shaw, Rohini; Haddow, Lorna; Hallworth, Stan;
Hapgood, Celia; Hargest, Emrys; Hashemi-Cole, Darius; Heptonstall, Joan; Hibbert, Winston;
Hollingdale, Petra; Horvat-Lane, Mirna; Hoskyns, Barnaby; Idowu, Folake; Ilves, Kaarel;
Inchbald, Maud; Jagger, Sidney; Jellicoe, Vera; Jovanic, Bogdan; Kaplan-Reed, Noa; Kearsley, Roy;
Keskin-Hall, Derya; Kinnaird, Morag; Kirkbride, Howard; Kobayakawa, Jun; Kowal-Smith, Agata;
Lacey, Clifford; Langthorne, Beryl; Larbi, Kwabena; Laverick, Susan; Lightbown, Ted;
Lindqvist-Moor, Saga; Lomax, Gwen; Loveridge, Cyril; MacAskill, Ruaridh; Mandeville, Joyce;
Marchetto, Gino; Mbeki-Ross, Thandi; Meadowcroft, Neil; Mellanby, Ruth; Mistry-Hume, Jayesh;
Moorcroft, Olive; Mulgrew, Sean; Nakashima, Emi; Nettleton, Basil; Nightingale-Obi, Ada;
Norcott, Phyllis; Oakden, Simon; Ogunleye, Tunde; Oldroyd, Margery; Ollerton, Ken;
Pargeter, Lionel; Parmenter, Sheila; Pelletreau, Luc; Pennywell, Grace; Petalas, Nikos;
Pickersgill, Don; Quarshie, Esi; Quennell, Roger; Rackham, Enid; Rahimov-Jones, Aziz;
Ravenscroft, Hilda; Reddaway, Colin; Rossendale, Peggy; Rutledge, Amos; Saltmarsh, Doreen;
Seddon, Frank; Shimizu-Grant, Haru; Skelhorn, Betty; Solberg-Tate, Vidar; Stott, Marjorie;
Tattersfield, Gordon; Thorogood, Irene; Underhay, Victor; Vanterpool, Cleo; Wadsley, Norman;
Whitmore-Diaz, Paloma; Winstanley, Audrey; Yelland, Clive
"""
JUNIORS = """
Abara, Nnamdi; Appleyard, Molly; Arkwright, Finn; Aydin-Bell, Defne; Beckford, Jaden;
Chowdhury-Lee, Tahmid; Coulter, Erin; Dosanjh-May, Simran; Easterby, Toby; Farrell-Ito, Kenji;
Gathercole, Posy; Greenhalgh, Alfie; Hakimi-West, Laila; Jessop, Oscar; Kaczor, Maja;
Lethbridge, Daisy; Mensah-Ford, Kofi; Nuttall, Freddie; Okello, Patience; Pinnock, Tyrese;
Rosewell, Hattie; Sandhu-Clark, Gurpreet; Tickner, Leo; Vasile-Hart, Ilinca; Wetherby, Poppy;
Yamoah, Abena
"""
VISITORS = """
Adair, Connor; Baptiste-Lowe, Zola; Beddoes, Archie; Birtwistle, Nell; Brookfield, Sonny;
Bui-Marsh, Linh; Caddick, Jess; Cardew, Louis; Colquhoun, Mhairi; Darby-Singh, Jasmin;
Dewhirst, Ollie; Eccleston, Bea; Elmi, Hodan; Fairhurst, Rory; Fonseca-Hill, Tiago;
Garrick, Lottie; Goldthorpe, Max; Haworth, Evie; Hennessey, Cormac; Iqbal-Stone, Zara;
Jephcott, Monty; Kamau, Wanjiru; Kettlewell, Ruby; Lindsell, Jonah; Lo-Barnes, Mei;
Marwood, Ettie; Moffatt, Lewis; Narang-Pope, Veer; Newsholme, Tilly; Oduya, Temi;
Ormerod, Gus; Paget, Clara; Pereira-Cox, Lia; Quayle, Juan; Rawcliffe, Sam; Rizvi-Dunn, Ayaan;
Sheard, Maisie; Stapleford, Ned; Sutcliffe-Ray, Asha; Thackray, Will; Tordoff, Amelie;
Trevethan, Jory; Uddin-Page, Nadia; Varley, Eliza; Wainfleet, Hal; Woolmer, Kitty;
Xiao-Bird, Lan; Yardley, Ewan
"""
STUDENT = "Thistlewood, Mina"
NEWCOMER = "Larkfield, Jo"  # eight games, all in spring: too few to say anything
HABIT_PLAYER = "Dobbs, Percy"  # nearly every 1.g4 of the club is his


@dataclass(frozen=True, slots=True)
class Person:
    """One invented player. ``taste`` chooses favourites in the opening."""

    name: str
    taste: int
    rating: int | None  # on the season's first day; None: unrated
    strength: int  # what they play like on that day
    gain: int  # rating points won or lost over the season
    junior: bool
    keenness: float  # chance of coming to a club evening

    def rating_on(self, day: date) -> int | None:
        """The rating in force on a day: lists come out on the first of the month."""
        if self.rating is None:
            return None
        return max(500, min(2050, self.rating + self._drift(day.replace(day=1))))

    def strength_on(self, day: date) -> float:
        """What the player plays like on a day."""
        return self.strength + self._drift(day)

    def _drift(self, day: date) -> int:
        passed = max(0, (day - SEASON_START).days)
        return self.gain * passed // (SEASON_END - SEASON_START).days


def names(text: str) -> list[str]:
    """The names of one of the lists above."""
    return [name.strip() for name in text.replace("\n", " ").split(";")]


def people() -> dict[str, Person]:
    """Everybody, by name."""
    rng = Random(1)
    found = [_member(name, rng) for name in names(MEMBERS)]
    found += [_junior(name, rng, 0.6) for name in names(JUNIORS)]
    found += [_junior(name, rng, 0.0) for name in names(VISITORS)]
    found.append(Person(STUDENT, 7001, 880, 880, 130, True, 0.0))
    found.append(Person(NEWCOMER, 7002, None, 640, 0, True, 0.0))
    return {person.name: person for person in found}


def _member(name: str, rng: Random) -> Person:
    # Three draws averaged: most members are of middle strength, a few at either end.
    spread = (rng.random() + rng.random() + rng.random()) / 3
    rating = int(420 + 1640 * spread + (rng.random() - 0.5) * 700)
    return _person(name, max(520, min(1985, rating)), rng, False, 0.15 + 0.55 * rng.random())


def _junior(name: str, rng: Random, keenness: float) -> Person:
    return _person(name, int(520 + 560 * rng.random()), rng, True, keenness)


def _person(name: str, rating: int, rng: Random, junior: bool, keenness: float) -> Person:
    taste = int(rng.random() * 2**31)
    off_form = int((rng.random() - 0.5) * 60)
    gain = int(rng.random() * 130) if junior else int((rng.random() - 0.5) * 80)
    unrated = rng.random() < (0.3 if junior else 0.03)
    if unrated:
        rating = min(rating, 900)
    return Person(
        name, taste, None if unrated else rating, rating + off_form, gain, junior, keenness
    )
