"""The listed mistakes of a level in one student's games: made, and punished."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import chess
import numpy as np

from explorer.positions.position import Position
from explorer.positions.typed import parse_position
from explorer.query.costly import costly
from explorer.query.filters import Filters
from explorer.query.library import Library
from explorer.query.mistake_model import Costly
from explorer.query.moves import pack
from explorer.query.student_games import OwnGames
from explorer.query.student_model import Listed, OwnMistake
from explorer.query.student_numbers import beside, by_game, own_rate, run_since, told
from explorer.query.student_others import At
from explorer.query.visits import Flags, Ints
from explorer.query.where import COLOURS
from ingest.errors import NothingFound
from ingest.poskey import format_key

LOOKED_AT = 200  # findings of one colour at most


class Findings:
    """The listed mistakes of levels, each asked for once: the students of a class share them."""

    def __init__(self, library: Library) -> None:
        """Asks nothing yet."""
        self._library = library
        self._known: dict[Filters, list[Chance]] = {}

    def chances(self, filters: Filters) -> list[Chance]:
        """Where somebody can make a listed mistake, or punish one, with either colour.

        Listed is what discovery finds by its default settings.
        """
        if filters not in self._known:
            self._known[filters] = [
                chance
                for side in COLOURS
                for one in self._found(filters, side)
                for chance in _of(one, side)
            ]
        return self._known[filters]

    def _found(self, filters: Filters, side: str) -> tuple[Costly, ...]:
        try:
            return costly(self._library, parse_position(""), filters, side, top=LOOKED_AT).found
        except NothingFound:
            return ()


@dataclass(frozen=True, eq=False)
class Chance:
    """A position in which a listed mistake can be made, or punished, by ``side``.

    ``move`` is the mistake, or what punishes it, packed.
    """

    what: str
    side: str
    costly: Costly
    position: Position
    move: int

    @property
    def key(self) -> int:
        """The position's."""
        return self.position.key

    def wrong(self, moves: Ints) -> Flags:
        """Where it went wrong: the mistake was played, the punishment was not."""
        return np.asarray((moves == self.move) == (self.what == "made"))


def _of(one: Costly, side: str) -> Iterator[Chance]:
    after = parse_position(one.line)
    before = parse_position(list(after.ucis[:-1]))
    yield Chance("made", side, one, before, pack(chess.Move.from_uci(one.uci)))
    if one.punisher:
        other = COLOURS[side == COLOURS[0]]
        answer = after.board().parse_san(one.punisher)
        yield Chance("punished", other, one, after, pack(answer))


@dataclass(frozen=True, eq=False)
class Tally:
    """The chances that came up, game by game; ``wrong`` and ``chances`` have one value a game."""

    listed: Listed
    made: tuple[Ints, Ints]
    punished: tuple[Ints, Ints]


def tally_of(games: OwnGames, chances: list[Chance], others: At, level: str) -> Tally:
    """Each chance in the student's games, beside the others of the level."""
    rows: dict[str, list[OwnMistake]] = {"made": [], "punished": []}
    sums = {what: (_zeros(games), _zeros(games)) for what in rows}
    visits = games.visits.choices
    for chance in chances:
        here = visits.at(chance.key)
        if not len(here):
            continue
        game, wrong = visits.game[here], chance.wrong(visits.move[here])
        hit = wrong if chance.what == "made" else ~wrong
        cases, met = sums[chance.what]
        np.add.at(cases, game, hit)
        np.add.at(met, game, 1)
        rows[chance.what].append(_row(chance, games.day[game], wrong, hit, others))
    listed = Listed(
        level=level,
        looked_for=sum(chance.what == "made" for chance in chances),
        made=_sorted(rows["made"]),
        punished=_sorted(rows["punished"]),
        all_made=told(by_game(*sums["made"]).rate),
        all_punished=told(by_game(*sums["punished"]).rate),
    )
    return Tally(listed, sums["made"], sums["punished"])


def _zeros(games: OwnGames) -> Ints:
    return np.zeros(len(games), np.int64)


def _row(chance: Chance, days: Ints, wrong: Flags, hit: Flags, others: At) -> OwnMistake:
    last, since, over = run_since(days, wrong)
    own, crowd = own_rate(int(hit.sum()), len(hit)), others.rate(chance.key, chance.move)
    board, one = chance.position.board(), chance.costly
    instead = one.instead.san if one.instead else None
    answer = instead if chance.what == "made" else one.punisher
    return OwnMistake(
        what=chance.what,
        side=chance.side,
        line=chance.position.numbered,
        fen=chance.position.fen,
        key=format_key(chance.key),
        costly=one,
        answer=answer,
        answer_uci=board.parse_san(answer).uci() if answer else None,
        own=own,
        others=crowd.rate,
        difference=beside(own, crowd),
        last=last,
        since_then=since,
        over=over,
    )


def _sorted(rows: list[OwnMistake]) -> tuple[OwnMistake, ...]:
    """Those that went wrong most often first."""

    def missed(row: OwnMistake) -> int:
        return row.own.cases if row.what == "made" else row.own.games - row.own.cases

    return tuple(sorted(rows, key=lambda row: (-missed(row), -row.own.games, row.line)))
