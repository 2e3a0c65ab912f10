"""Which move to teach at a position: a preferred one, else the one that the numbers favour."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

import chess
import numpy as np
from duckdb import DuckDBPyConnection

from explorer.positions.lesson import Lesson
from explorer.positions.position import Position, fen_of
from explorer.query.draft_model import NUMBERS, PREFERRED, TEACHER
from explorer.query.favoured import Results, favoured_row, label_of, moves_of, results_at
from explorer.query.filters import Filters
from explorer.query.library import Facts
from explorer.query.model import Reply
from explorer.query.moves import pack, unpack
from explorer.query.outscored import POPULAR
from explorer.query.replies import every_reply
from explorer.query.sums import Sums
from ingest.levels import HIGHEST_RATING, UNRATED, Level, bands

Levels = tuple[Level, ...]

FADED = 0.8


@dataclass(frozen=True, slots=True)
class Choice:
    """A move to teach: ``games`` of ``of`` games of players of ``level``, by ``players``.

    ``rather_than`` is a move that they choose more often, and that fades with strength.
    """

    move: chess.Move
    chosen_by: str
    level: str
    games: int
    players: int
    of: int
    rather_than: str | None = None


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why there is none, as `draft_model.Skipped` has it."""

    why: str
    san: str | None = None


@dataclass(frozen=True, slots=True)
class Answers:
    """The student's answers, from the games of players of other levels.

    ``models`` are the levels to learn from, each to be asked when the one before it has
    no move to teach, and the last one holding the others but the first; an empty one is
    every level. ``never``: packed moves that are not to be
    taught, by key.
    """

    cursor: DuckDBPyConnection
    facts: Facts
    filters: Filters
    models: tuple[Levels, ...]
    prefer: Lesson | None
    never: Mapping[int, Collection[int]]
    allow_fading: bool

    def to(self, board: chess.Board, key: int) -> Choice | Refusal:
        """The move for a position.

        The preferred file's, unless it is never to be taught; else, of the popular moves with
        enough games, the commonest one that is not significantly worse than the best. Of moves
        that fade with strength only the preferred file may teach one.
        """
        if (preferred := self._preferred(key)) is not None:
            return self._counted(board, key, preferred, PREFERRED)
        never, fading = list(self.never.get(key, ())), None
        usual = None
        for model, sums in self._by_model(board, key):
            popular = sums.games >= POPULAR * sums.went_on
            allowed = popular & ~np.isin(sums.move, never)
            common = favoured_row(sums, allowed)
            if common is not None and not self.allow_fading:
                fading = self._fading(board, key) if fading is None else fading
                allowed &= ~np.isin(sums.move, fading)
            row = favoured_row(sums, allowed)
            if row is not None:
                choice = _choice(sums, _move(sums, row), NUMBERS, model)
                more = common is not None and sums.games[common] > sums.games[row]
                return replace(choice, rather_than=_san(board, sums, common) if more else None)
            usual = usual or _san(board, sums, favoured_row(sums, popular))
        return Refusal("refused", usual) if usual else Refusal("few")

    def given(self, board: chess.Board, key: int, move: chess.Move) -> Choice:
        """A move that the teacher has chosen."""
        return self._counted(board, key, move, TEACHER)

    def _counted(self, board: chess.Board, key: int, move: chess.Move, chosen_by: str) -> Choice:
        model, sums = next(self._by_model(board, key))
        return _choice(sums, move, chosen_by, model)

    def _by_model(self, board: chess.Board, key: int) -> Iterator[tuple[Levels, Sums]]:
        """The moves at a position, level after level: one query for all but the first."""
        first, *others = self.models
        yield first, moves_of(self._results(board, key, first))
        if others:
            every = self._results(board, key, others[-1])
            for model in others:
                yield model, moves_of(_of_levels(every, model))

    def _results(self, board: chess.Board, key: int, model: Levels) -> Results:
        filters = replace(self.filters, levels=model)
        return results_at(self.cursor, self.facts, [key], filters, white=board.turn)

    def _preferred(self, key: int) -> chess.Move | None:
        place = self.prefer.places.get(key) if self.prefer else None
        if place is None or place.taught is None:
            return None
        move = chess.Move.from_uci(place.taught.uci)
        return None if pack(move) in self.never.get(key, ()) else move

    def _fading(self, board: chess.Board, key: int) -> list[int]:
        """The packed moves whose share falls from level to level, over all levels."""
        position = Position(fen_of(board), key)
        replies = every_reply(self.cursor, self.facts, position, replace(self.filters, levels=()))
        return [pack(chess.Move.from_uci(reply.uci)) for reply in replies if fades(reply)]


def _of_levels(results: Results, levels: Levels) -> Results:
    """The rows of players of some levels, each a band of ratings; of none: all rows."""
    if not levels:
        return results
    rating = np.ma.filled(results["rating"], 0)
    inside = np.zeros(len(rating), np.bool_)
    for level in levels:
        inside |= (rating >= max(1, level.low or 0)) & (rating <= (level.high or HIGHEST_RATING))
    return {name: column[inside] for name, column in results.items()}


def _choice(sums: Sums, move: chess.Move, chosen_by: str, model: Levels) -> Choice:
    level, of = label_of(model), int(sums.went_on[0]) if len(sums.move) else 0
    row = sums.row(0, pack(move))
    if row is None:
        return Choice(move, chosen_by, level, 0, 0, of)
    return Choice(move, chosen_by, level, int(sums.games[row]), int(sums.players[row]), of)


def _move(sums: Sums, row: int) -> chess.Move:
    return unpack(int(sums.move[row]))


def _san(board: chess.Board, sums: Sums, row: int | None) -> str | None:
    return None if row is None else board.san(_move(sums, row))


def fades(reply: Reply) -> bool:
    """Whether a reply is one that players give up as they grow stronger.

    Its share falls over the levels (the trend test), at the top below FADED of that at the
    bottom: in many games a fall from 99 to 97 % is significant too.
    """
    if reply.trend is None or reply.trend.direction != "fades":
        return False
    rated = [level for level in reply.levels if level.label != UNRATED.label]
    told = [level.share or 0.0 for level in rated if not level.few]
    return told[-1] < FADED * told[0]


def models_above(filters: Filters) -> tuple[Levels, ...]:
    """Whom to learn from when nobody says so: the band above the highest chosen level (or the top
    one), then it and the next one above, and so on; at last everybody from the lowest chosen
    level up. Every level where none is chosen."""
    rated = [level for level in filters.levels if level.rated]
    if not rated:
        return ((),)
    every = bands(filters.cuts)[:-1]
    highest = max(HIGHEST_RATING if level.high is None else level.high for level in rated)
    own = next(number for number, band in enumerate(every) if band.holds(highest))
    above = every[min(own + 1, len(every) - 1) :]
    wider = tuple((Level(above[0].low, band.high),) for band in above)
    lowest = min(level.low or 0 for level in rated)
    return (*wider, (Level(lowest, None),) if lowest else ())
