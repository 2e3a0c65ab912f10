"""The filters as a sentence with choices in it: Players [rated 800 to 999], [rapid], since ..."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from explorer.query.breakdown import BREAKDOWNS
from explorer.query.filters import Filters
from explorer.report import words
from explorer.report.bar import Blank, Choice
from explorer.report.privacy import Veil
from ingest.levels import UNRATED, Level, bands
from ingest.tags import Pace

BY = {
    "level": "level",
    "opponents": "opponent's level",
    "year": "year",
    "season": "season",
    "pace": "pace",
    "collection": "collection",
}


def filter_blanks(filters: Filters, collections: Sequence[str], veil: Veil) -> Iterator[Blank]:
    """The blanks that every question has: who, against whom, at which pace, when, where from."""
    levels = _levels(filters.cuts)
    yield _choice("Players", "level", "Level of the player to move", _of(filters.levels, levels))
    yield _choice(
        "against players", "opponents", "Level of the opponent", _of(filters.opponents, levels)
    )
    yield _choice("at", "pace", "Pace", _paces(filters.pace))
    yield Blank("since", "date", "since", "Since", _day(filters.since))
    yield Blank("until", "date", "until", "Until", _day(filters.until))
    if len(collections) > 1:
        chosen = tuple(_collections(filters.collections, collections, veil))
        yield _choice("from", "collection", "Collection", chosen)


def player_blanks(filters: Filters) -> Iterator[Blank]:
    """Whose games."""
    yield Blank("in games of", "text", "player", "Player", filters.player or "")
    sides = [("", "either colour"), ("white", "White"), ("black", "Black")]
    chosen = tuple(Choice(value, text, value == (filters.side or "")) for value, text in sides)
    yield _choice("with", "as", "The player's colour", chosen)


def shown_blanks(filters: Filters) -> Iterator[Blank]:
    """Which replies are shown, and how they are broken down."""
    least = str(filters.min_games)
    yield Blank(
        "showing replies of at least", "number", "min_games", "Least number of games", least
    )
    by = tuple(Choice(name, BY[name], name == filters.by) for name in BREAKDOWNS)
    yield _choice("games, by", "by", "Break shares down by", by)


def side_blanks(side: str | None, to_move: int) -> Iterator[Blank]:
    """Whose moves are looked at, and how far."""
    sides = [("", "either side"), ("white", "White"), ("black", "Black")]
    chosen = tuple(Choice(value, text, value == (side or "")) for value, text in sides)
    yield _choice("; moves of", "as", "Side", chosen)
    yield Blank("up to move", "number", "to_move", "Up to move", str(to_move))


def punishing_blank(line: str) -> Blank:
    """The moves that punish a mistake."""
    return Blank("; punished by", "text", "punish", "The moves that punish it", line)


def _choice(before: str, name: str, label: str, choices: tuple[Choice, ...]) -> Blank:
    return Blank(before, "select", name, label, choices=choices)


def _day(day: object) -> str:
    return str(day) if day else ""


def _levels(cuts: tuple[int, ...]) -> list[tuple[Level, ...]]:
    """Each band, each two that touch, and the unrated."""
    *rated, _ = bands(cuts)
    two = [(Level(low.low, high.high),) for low, high in pairwise(rated) if low.low or high.high]
    return [*((level,) for level in rated), *two, (UNRATED,)]


def _of(chosen: tuple[Level, ...], offered: list[tuple[Level, ...]]) -> tuple[Choice, ...]:
    """Levels to choose from; those chosen now are among them, whatever they are."""
    offered = [(), *offered]
    if chosen not in offered:
        offered.append(chosen)
    return tuple(
        Choice(
            ",".join(level.typed for level in levels),
            words.players(levels).removeprefix("players "),
            levels == chosen,
        )
        for levels in offered
    )


def _paces(chosen: tuple[str, ...]) -> tuple[Choice, ...]:
    offered: list[tuple[str, ...]] = [(), *((pace.word,) for pace in reversed(Pace))]
    if chosen not in offered:
        offered.append(chosen)
    return tuple(Choice(",".join(paces), words.paces(paces), paces == chosen) for paces in offered)


def _collections(
    chosen: tuple[str, ...], collections: Sequence[str], veil: Veil
) -> Iterator[Choice]:
    yield Choice("", "every collection", not chosen)
    for name in collections:
        yield Choice(name, words.clean(veil.text(name)), (name,) == chosen)
    if chosen and (len(chosen) > 1 or chosen[0] not in collections):
        said = words.listed([words.clean(veil.text(name)) for name in chosen], "or")
        yield Choice("\n".join(chosen), said, True)  # a name may have a comma in it
