"""A drafted lesson as PGN: one game with variations, plain comments, nobody's name."""

from __future__ import annotations

import chess.pgn

from explorer.query.draft_lines import game_of
from explorer.query.draft_model import DraftAnswer
from explorer.report import draft_words as said
from explorer.report.pgn import as_pgn


def draft_pgn(answer: DraftAnswer) -> str:
    """The lesson in export format (PGN standard, sections 3.2 and 8), in English letters.

    The main line is the commonest: at each of the opponent's turns the reply met most often.
    """
    game, nodes = game_of(answer.lines)
    game.comment = said.preface(answer)
    for node, move in zip(nodes, answer.lines, strict=True):
        node.comment = said.comment(move, answer.steps[move.step - 1] if move.step else None)
    tags = {
        "Event": said.event(answer),
        "Site": "?",
        "Date": "????.??.??",
        "Round": "?",
        "White": "?",
        "Black": "?",
        "Result": "*",
    }
    movetext = game.accept(chess.pgn.StringExporter(columns=None, headers=False))
    return as_pgn(tags, movetext)
