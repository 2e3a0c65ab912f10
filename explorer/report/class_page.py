"""The class view: a large diagram, and the commonest replies, hidden until they are asked for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import resources

import chess

from explorer.positions.position import Position
from explorer.query.model import PositionFacts, RepliesAnswer, Reply
from explorer.report import sentences, words
from explorer.report.bar import Links
from explorer.report.cards import last_move, move_label
from explorer.report.diagram import Marks, arrows, diagram
from explorer.report.privacy import Answer
from explorer.report.sheet import PageOptions, sheet

SHOWN = 3
QUESTION = "What would you play?"


@dataclass(frozen=True, slots=True)
class Played:
    """One of the replies, in words."""

    move: str
    share: str
    counts: str
    link: str


@dataclass(frozen=True, slots=True)
class _Seen:
    """What all can see before the replies are shown; ``turn`` is empty where nothing is asked."""

    title: str
    question: str
    turn: str
    name: str | None
    board: chess.Board
    last: chess.Move | None


def class_page(answer: RepliesAnswer, options: PageOptions) -> str:
    """HTML of the class view. Nothing but the hidden part tells what is played."""
    position, replies = answer.position, answer.replies[:SHOWN]
    asks = bool(replies)
    seen = _Seen(
        title=title(position, options.letters),
        question=QUESTION if asks else title(position, options.letters),
        turn=_turn(position.to_move) if asks else "",
        name=position.name,
        board=chess.Board(position.fen),
        last=last_move(position),
    )
    played = [_played(answer, reply, options) for reply in replies]
    says = "" if asks else sentences.summary(answer, options.letters)
    return _page(seen, answer, options, says, played, _arrows(replies, options.view))


def unseen_class_page(position: Position, why: str, options: PageOptions) -> str:
    """The same of a position of which no game tells, with the reason."""
    board = position.board()
    line = words.spelled(position.numbered, options.letters)
    asked = f"After {line}" if line else "No games here"
    last = board.peek() if board.move_stack else None
    turn = _turn(position.to_move)
    return _page(_Seen(asked, asked, turn, position.name, board, last), None, options, why, [], "")


def _page(
    seen: _Seen,
    answer: Answer | None,
    options: PageOptions,
    says: str,
    played: list[Played],
    pointed: str,
) -> str:
    drawing = diagram(seen.board, options.view, Marks(seen.last), standalone=False, large=True)
    return sheet(
        "class.html.j2",
        answer,
        options,
        title=seen.title,
        name=seen.name,
        notes=(),
        reached=(),
        question=seen.question,
        turn=seen.turn,
        drawing=drawing,
        says=words.clean(says),
        replies=played,
        pointed=pointed,
        class_style=class_style(),
    )


@cache
def class_style() -> str:
    """What the class view has beside the other styles."""
    return resources.files("explorer.report").joinpath("class.css").read_text("utf-8")


def title(position: PositionFacts, letters: str | None = None) -> str:
    """``What would Black play after 1. e4 e5 2. Nf3?``"""
    line = words.spelled(position.line or "", letters)
    over = sentences.final(position)
    if over:
        return f"{words.side(position.to_move)} is {over}"
    return f"What would {words.side(position.to_move)} play{f' after {line}' if line else ''}?"


def _turn(to_move: str) -> str:
    return f"{to_move.capitalize()} to move"


def _played(answer: RepliesAnswer, reply: Reply, options: PageOptions) -> Played:
    links: Links | None = options.links
    few = "; too few to say" if reply.few else ""
    return Played(
        move=move_label(answer.position, reply.san, options.letters),
        share=words.percent(reply.share),
        counts=f"{reply.games:,} of {words.count(answer.went_on, 'game')}{few}",
        link=links.after(reply.uci) if links else "",
    )


def _arrows(replies: tuple[Reply, ...], view: str) -> str:
    """The replies on the board, numbered as in the list."""
    moves = [chess.Move.from_uci(reply.uci) for reply in replies]
    return arrows(
        Marks(
            arrows=tuple((move.from_square, move.to_square) for move in moves),
            labels=tuple(str(number) for number in range(1, len(moves) + 1)),
        ),
        view,
    )
