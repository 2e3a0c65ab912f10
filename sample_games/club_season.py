"""Who met whom, when and at what time limits: the season's plan, before a move is made.

The plan is drawn in one go from one seed and takes a moment; each game in it
then has a seed of its own, so that any game can be made without the others.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random
from typing import TypeVar

from club_people import (
    JUNIORS,
    NEWCOMER,
    SEASON_END,
    SEASON_START,
    STUDENT,
    VISITORS,
    Person,
    names,
    people,
)

CLUB_FILE = "club_season.pgn.gz"
CUP_FILE = "junior_cup.pgn.gz"
STUDENT_FILE = "student.pgn.gz"
FILES = (CLUB_FILE, CUP_FILE, STUDENT_FILE)

SITE = "Lantern Hill"
BLITZ = ("300+0", "180+2", "300+3")
RAPID = ("1500+0", "900+10", "1200+5")
STANDARD = ("5400+30", "36/5400:900", "4500+15")
DAYS = (SEASON_END - SEASON_START).days
GROUP_SIZE = 10
STUDENT_GAMES = 240
NEWCOMER_GAMES = 8

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Planned:
    """One game to be made."""

    file: str
    white: Person
    black: Person
    day: date
    event: str
    site: str
    round: str
    time_control: str
    seed: int = 0


def plan() -> list[Planned]:
    """Every game of the three files, in the order of the files."""
    everyone = people()
    members = [person for person in everyone.values() if person.keenness > 0]
    rng = Random(20250901)
    drafts = [
        *_championship(members, rng),
        *_evenings(members, rng, "Monday Rapid", 0, RAPID),
        *_evenings(members, rng, "Thursday Blitz", 3, BLITZ),
        *_evenings([p for p in members if p.junior], rng, "Saturday Juniors", 5, RAPID),
        *_house_league(members, rng),
        *_newcomer(everyone, rng),
        *_schools_league(everyone, rng),
        *_cup(everyone, rng, "Autumn", date(2025, 10, 18)),
        *_cup(everyone, rng, "Spring", date(2026, 3, 21)),
        *_student(everyone, rng),
    ]
    drafts.sort(key=lambda game: (FILES.index(game.file), game.day))
    return [replace(game, seed=8_000_000 + number) for number, game in enumerate(drafts, 1)]


def pick(rng: Random, choices: Sequence[T]) -> T:
    """One of several, by one call of ``random()``."""
    return choices[int(rng.random() * len(choices))]


def _by_strength(players: Sequence[Person], rng: Random, blur: float) -> list[Person]:
    """Players from weak to strong, the order blurred by at most ``blur`` points each way."""
    order = [
        (player.strength + (2 * rng.random() - 1) * blur, player.name, player) for player in players
    ]
    return [player for _, _, player in sorted(order, key=lambda entry: entry[:2])]


def _pairs(players: Sequence[Person], rng: Random, blur: float) -> Iterator[tuple[Person, Person]]:
    """Neighbours in strength, colours by lot; an odd one out has no game."""
    order = _by_strength(players, rng, blur)
    for one, other in zip(order[::2], order[1::2], strict=False):
        yield (one, other) if rng.random() < 0.5 else (other, one)


def _championship(members: Sequence[Person], rng: Random) -> Iterator[Planned]:
    """Groups of ten of like strength, each meeting each once, on Wednesdays."""
    order = _by_strength(members, rng, 40)
    for start in range(0, len(order), GROUP_SIZE):
        group = order[start : start + GROUP_SIZE]
        event = f"Lantern Hill Championship, Group {start // GROUP_SIZE + 1}"
        for one in range(len(group)):
            for other in range(one):
                number = (one + other) % (GROUP_SIZE - 1) + 1
                white, black = (one, other) if (one + other) % 2 else (other, one)
                day = date(2025, 9, 10) + timedelta(weeks=4 * (number - 1))
                yield Planned(
                    CLUB_FILE, group[white], group[black], day, event, SITE, str(number),
                    STANDARD[0],
                )  # fmt: skip


def _evenings(
    members: Sequence[Person], rng: Random, name: str, weekday: int, limits: Sequence[str]
) -> Iterator[Planned]:
    """Two rounds a week among those who come; every third week the hall is let."""
    for week in range(DAYS // 7):
        if week % 3 == 2:
            continue
        day = SEASON_START + timedelta(weeks=week, days=weekday)
        present = [player for player in members if rng.random() < player.keenness]
        limit = pick(rng, limits)
        for number in (1, 2):
            for white, black in _pairs(present, rng, 150 * number):
                yield Planned(
                    CLUB_FILE, white, black, day, f"Lantern Hill {name} {week + 1}", SITE,
                    str(number), limit,
                )  # fmt: skip


def _house_league(members: Sequence[Person], rng: Random) -> Iterator[Planned]:
    """Twelve team matches inside the club, on Fridays; rounds are written round.board."""
    for number in range(1, 13):
        day = date(2025, 9, 19) + timedelta(weeks=3 * (number - 1))
        team = [player for player in members if rng.random() < player.keenness * 0.8]
        limit = pick(rng, STANDARD)
        for board, (white, black) in enumerate(_pairs(team, rng, 60), 1):
            yield Planned(
                CLUB_FILE, white, black, day, "Lantern Hill House League", SITE,
                f"{number}.{board}", limit,
            )  # fmt: skip


def _newcomer(everyone: dict[str, Person], rng: Random) -> Iterator[Planned]:
    """Eight games of a beginner who joined in spring."""
    juniors = [everyone[name] for name in names(JUNIORS)]
    for number in range(NEWCOMER_GAMES):
        day = date(2026, 4, 4) + timedelta(weeks=number)
        sides = (everyone[NEWCOMER], pick(rng, juniors))
        white, black = sides if number % 2 else sides[::-1]
        yield Planned(CLUB_FILE, white, black, day, "Lantern Hill Friendly", SITE, "-", RAPID[1])


def _schools_league(everyone: dict[str, Person], rng: Random) -> Iterator[Planned]:
    """Three rounds an evening for the club's juniors and their guests, on 24 Tuesdays."""
    children = [everyone[name] for name in (*names(JUNIORS), *names(VISITORS))]
    for week in range(24):
        day = date(2025, 9, 16) + timedelta(weeks=week + week // 2)
        for number in (1, 2, 3):
            for white, black in _pairs(children, rng, 120):
                yield Planned(
                    CLUB_FILE, white, black, day, "Lantern Hill Schools League", SITE,
                    f"{week + 1}.{number}", RAPID[1],
                )  # fmt: skip


def _cup(
    everyone: dict[str, Person], rng: Random, season: str, first_day: date
) -> Iterator[Planned]:
    """Eight rounds over a weekend for the club's juniors and their guests."""
    entrants = [everyone[name] for name in (*names(JUNIORS), *names(VISITORS))]
    for number in range(1, 9):
        day = first_day + timedelta(days=(number - 1) // 4)
        for white, black in _pairs(entrants, rng, 120):
            yield Planned(
                CUP_FILE, white, black, day, f"Lantern Hill Junior Cup, {season}", SITE,
                str(number), "1200+5",
            )  # fmt: skip


def _student(everyone: dict[str, Person], rng: Random) -> Iterator[Planned]:
    """The student's own history: colours in turn, over ten months, opponents of like strength."""
    student = everyone[STUDENT]
    children = [everyone[name] for name in (*names(JUNIORS), *names(VISITORS))]
    for number in range(STUDENT_GAMES):
        day = SEASON_START + timedelta(days=2 + number * (DAYS - 4) // STUDENT_GAMES)
        near = [
            child
            for child in children
            if child.rating and abs(child.strength_on(day) - student.strength_on(day)) < 220
        ]
        event, limit = pick(
            rng,
            (("Schools League", RAPID[0]), ("Ladder Game", RAPID[1]), ("Holiday Open", BLITZ[2])),
        )
        sides = (student, pick(rng, near))
        white, black = sides if number % 2 else sides[::-1]
        yield Planned(STUDENT_FILE, white, black, day, event, "Fernley", "?", limit)
