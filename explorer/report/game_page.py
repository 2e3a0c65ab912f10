"""The page of a game on the local page: stepped through, each move with its share at the level."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import chess

from explorer.positions.position import first_ply
from explorer.query.game import GameAnswer
from explorer.query.mistake_model import Rate
from explorer.report import sentences, words
from explorer.report.bar import Link
from explorer.report.cards import Look, example_of
from explorer.report.diagram import Marks, diagram
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions, moves_read, sheet


class Steps(Protocol):
    """The addresses of a game's plies."""

    def ply(self, ply: int) -> str:
        """The game after so many plies."""

    def place(self, ply: int) -> str:
        """The position there, as a page of its own."""


@dataclass(frozen=True, slots=True)
class Move:
    """A move of the game, in words; what is not known is empty."""

    label: str
    href: str
    here: bool
    share: str = ""
    between: str = ""
    games: str = ""
    of: str = ""
    few: bool = False


def game_page(answer: GameAnswer, ply: int, steps: Steps, options: PageOptions) -> str:
    """HTML of a game after ``ply`` plies, or its end if it is shorter."""
    row, look = answer.row, Look(options.view, options.letters)
    veil = Veil.over(answer, options.names)
    ply = min(ply, len(row.ucis))
    board = chess.Board(row.start_fen or chess.STARTING_FEN)
    for uci in row.ucis[:ply]:
        board.push_uci(uci)
    last = board.peek() if board.move_stack else None
    told = example_of(row, look, veil)
    moves = list(_moves(answer, ply, steps, look.letters))
    return sheet(
        "game.html.j2",
        answer,
        options,
        title=f"Game: {told.players}",
        name=None,
        notes=[sentences.FEW_NOTE, METHOD, *sentences.origin(answer.source, veil)],
        reached=[("Positions looked at", moves_read(answer.source))],
        about=told.about,
        drawing=diagram(board, look.view, Marks(last), standalone=False),
        after=f"After {moves[ply - 1].label}" if ply else "At the start",
        steps=tuple(_steps(ply, len(row.ucis), steps)),
        place=steps.place(ply),
        hint=f"The share of {words.players(answer.filters.levels)} who chose the move there.",
        moves=moves[: len(answer.rates)],
        later=moves[len(answer.rates) :],
    )


METHOD = (
    "Share: of the games that went on from the position, this game's among them if it is "
    "one of those chosen. Ranges are 95 % intervals; players, not games, are the sample."
)


def _steps(ply: int, end: int, steps: Steps) -> Iterator[Link]:
    """Where one can go from here; ``uci`` holds the link's relation."""
    if ply:
        yield Link("First", steps.ply(0))
        yield Link("Back", steps.ply(ply - 1), uci="prev")
    if ply < end:
        yield Link("Next", steps.ply(ply + 1), uci="next")
        yield Link("Last", steps.ply(end))


def _moves(answer: GameAnswer, ply: int, steps: Steps, letters: str | None) -> Iterator[Move]:
    row = answer.row
    first = first_ply(row.start_fen)
    for at, san in enumerate(row.sans):
        number, black = divmod(first + at, 2)
        label = f"{number + 1}{'...' if black else '.'} {words.spelled(san, letters)}"
        move = Move(label, steps.ply(at + 1), at + 1 == ply)
        yield _with_rate(move, answer.rates[at]) if at < len(answer.rates) else move


def _with_rate(move: Move, rate: Rate) -> Move:
    """The share as well; a dash where none of the chosen games went on."""
    return Move(
        move.label,
        move.href,
        move.here,
        words.percent(rate.share) + (sentences.FEW_SIGN if rate.few and rate.games else ""),
        words.percents(rate.low, rate.high),
        f"{rate.cases:,}",
        f"{rate.games:,}",
        rate.few,
    )
