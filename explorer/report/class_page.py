"""The class view: a large diagram, and the commonest replies, hidden until they are asked for."""

from __future__ import annotations

from dataclasses import dataclass

import chess

from explorer.query.model import PositionFacts, RepliesAnswer, Reply
from explorer.report import sentences, words
from explorer.report.bar import Links
from explorer.report.cards import last_move, move_label
from explorer.report.diagram import Marks, diagram
from explorer.report.sheet import PageOptions, sheet

SHOWN = 3


@dataclass(frozen=True, slots=True)
class Played:
    """One of the replies, in words."""

    move: str
    share: str
    counts: str
    few: bool
    link: str


def class_page(answer: RepliesAnswer, options: PageOptions) -> str:
    """HTML of the class view. Nothing but the hidden part tells what is played."""
    position, letters = answer.position, options.letters
    board = chess.Board(position.fen)
    marks = Marks(last_move(position))
    return sheet(
        "class.html.j2",
        answer,
        options,
        title=title(position, letters),
        name=position.name,
        notes=(),
        reached=(),
        drawing=diagram(board, options.view, marks, standalone=False, large=True),
        says=sentences.summary(answer, letters),
        replies=[_played(answer, reply, options.links) for reply in answer.replies[:SHOWN]],
    )


def title(position: PositionFacts, letters: str | None = None) -> str:
    """``What would Black play after 1. e4 e5 2. Nf3?``"""
    line = words.spelled(position.line or "", letters)
    over = sentences.final(position)
    if over:
        return f"{words.side(position.to_move)} is {over}"
    return f"What would {words.side(position.to_move)} play{f' after {line}' if line else ''}?"


def _played(answer: RepliesAnswer, reply: Reply, links: Links | None) -> Played:
    return Played(
        move=move_label(answer.position, reply.san),
        share=words.percent(reply.share),
        counts=f"{reply.games:,} of {words.count(answer.went_on, 'game')}",
        few=reply.few,
        link=links.after(reply.uci) if links else "",
    )
