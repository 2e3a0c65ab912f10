"""All that is shown of one mistake: the answer and what stands beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from explorer.positions.engine import Opinion
from explorer.positions.facts import PlyFacts, line_facts
from explorer.positions.position import Position, first_ply
from explorer.query.mistake_model import MistakeAnswer
from explorer.query.model import GamesAnswer
from explorer.report import words


@dataclass(frozen=True)
class Case:
    """A mistake with the line that leads to and punishes it, moves and all.

    ``line`` ends with the punishment's last move, or the mistake without one.
    ``square`` is one whose guards and attackers are followed. ``opinion`` is an
    engine's, before and after the mistake; ``games`` are examples.
    """

    answer: MistakeAnswer
    line: Position
    square: str | None = None
    opinion: Opinion | None = None
    games: GamesAnswer | None = None

    @cached_property
    def facts(self) -> tuple[PlyFacts, ...]:
        """The facts of the line, ply by ply. UsageError when ``square`` is none."""
        return line_facts(self.line, self.square)

    @property
    def mistake_at(self) -> int:
        """The mistake's place among the line's moves, from 0."""
        punishment = self.answer.punishment
        return len(self.line.ucis) - 1 - (len(punishment.sans) if punishment else 0)

    def labels(self, letters: str | None = None) -> Sequence[str]:
        """The line's moves with their numbers: ``2... f6``."""
        first = first_ply(self.line.start)
        return [
            f"{ply // 2 + 1}{'...' if ply % 2 else '.'} {words.spelled(san, letters)}"
            for ply, san in enumerate(self.line.sans, start=first)
        ]


def with_punishment(line: Position, answer: MistakeAnswer) -> Position:
    """The line that ends with the mistake, on to the end of its punishment."""
    for uci in answer.punishment.ucis if answer.punishment else ():
        line = line.after(uci)
    return line
