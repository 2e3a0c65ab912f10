"""The answer of `lesson draft`: frozen values, no database.

As in `lesson_model`: shares and parts are fractions of 1, ``in_100`` is of 100 games, field
names are the JSON contract.
"""

from __future__ import annotations

from dataclasses import dataclass

from explorer.query.filters import Filters
from explorer.query.lesson_model import States
from explorer.query.model import Source

TEACHER, PREFERRED, NUMBERS = "teacher", "preferred", "numbers"


@dataclass(frozen=True, slots=True)
class DraftStep:
    """One position learnt, in the order in which it is worth learning.

    ``chosen_by`` is who chose the move: the ``teacher`` (the line to start with), the
    ``preferred`` file, or the ``numbers``. ``games`` of ``of`` games of players of ``level`` have
    it, by ``players``; ``rather_than`` a move that they choose more often but that fades
    with strength. ``reached``: the part of the games from the start that come to the position;
    ``adds``: to the sum of the answered share over the moves; ``answered``: the share at
    each of the student's moves, as `DraftAnswer.moves` numbers them, once this is learnt.
    """

    line: str  # up to the position
    fen: str
    san: str
    uci: str
    chosen_by: str
    level: str
    games: int
    players: int
    of: int
    share: float | None
    rather_than: str | None
    reached: float
    adds: float
    answered: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class DraftMove:
    """One move of the lesson's file. They come as the file has them: depth first, the commonest
    reply first, ``ply`` (from 0) saying where a line goes back.

    ``step``: the number of the position learnt, from 1; None for a reply, which has the
    ``games`` of ``of`` games of the level there (``borrowed``: neighbouring bands too), and is
    met ``in_100`` games. ``same_as``: the line that goes on from the same position.
    """

    ply: int
    san: str
    uci: str
    step: int | None = None
    games: int = 0
    of: int = 0
    in_100: float | None = None
    borrowed: bool = False
    same_as: str | None = None


@dataclass(frozen=True, slots=True)
class Skipped:
    """A position that no answer is given for, met ``in_100`` games.

    ``why``: "few" (no move has enough games), or "refused": all that have fade with strength or
    are never to be taught, as is ``san``, the usual one.
    """

    line: str
    fen: str
    in_100: float
    why: str
    san: str | None = None


@dataclass(frozen=True, slots=True)
class DraftAnswer:
    """A first draft of a lesson.

    ``start`` is the line from which games are counted ("" for all games of the colour),
    ``moves`` the student's moves at which they are looked at, ``states`` how they stand there.
    ``objective`` is the sum of the answered share over them. ``stopped``: "positions", "worth" or
    "nothing left"; ``next_in_100``: what the next position would have answered.
    """

    side: str
    start: str
    filters: Filters
    source: Source
    games: int
    to_move: int
    positions: int
    worth: float
    model_level: str
    allow_fading: bool
    moves: tuple[int, ...]
    steps: tuple[DraftStep, ...]
    states: tuple[States, ...]
    objective: float
    skipped: tuple[Skipped, ...]
    stopped: str
    next_in_100: float
    lines: tuple[DraftMove, ...]
