"""Games in PGN export format (PGN standard, sections 3.2, 8 and 9)."""

from __future__ import annotations

import re
from collections.abc import Mapping

from explorer.positions.position import numbered
from explorer.query.model import GameRow, GamesAnswer
from explorer.report.privacy import Veil
from explorer.report.words import clean

LONGEST_LINE = 79
LONGEST_STRING = 255


def games_pgn(answer: GamesAnswer, names: str = "initials") -> str:
    """The games one after the other, each with an empty line at its end (8.2.1)."""
    veil = Veil.over(answer, names)
    return "".join(game_pgn(row, veil) for row in answer.rows)


def game_pgn(row: GameRow, veil: Veil) -> str:
    """One game: the seven tag roster, other tags by name, the moves in lines under 80."""
    tags = {**_roster(row, veil), **_others(row)}
    return as_pgn(tags, f"{numbered(row.sans, row.start_fen)} {row.result}")


def as_pgn(tags: Mapping[str, str], movetext: str) -> str:
    """A game of export format from its tags, in order, and its movetext."""
    head = "\n".join(f'[{name} "{_string(value)}"]' for name, value in tags.items())
    # The standard parts tokens: a number and its move may stand on two lines. But a line that
    # begins with % is passed over (section 6).
    body = "\n".join(_lines(re.split(r"\s+(?!%)", movetext.strip())))
    return f"{head}\n\n{body}\n\n"


def _roster(row: GameRow, veil: Veil) -> dict[str, str]:
    """The tags of 8.1.1 in their order; what is not known or not shown is ``?``."""
    return {
        "Event": veil.tag(row.event, row) or "?",
        "Site": veil.tag(row.site, row) or "?",
        "Date": row.date,
        "Round": veil.tag(row.round, row) or "?",
        "White": veil.person(row.white) or "?",
        "Black": veil.person(row.black) or "?",
        "Result": row.result,
    }


def _others(row: GameRow) -> dict[str, str]:
    """The rest, in ASCII order by name (8.1.1); a game with its own start says so (9.7)."""
    tags = {
        "BlackElo": row.black_rating,
        "FEN": row.start_fen,
        "SetUp": "1" if row.start_fen else None,
        "Termination": row.termination,
        "TimeControl": row.time_control,
        "WhiteElo": row.white_rating,
    }
    return {name: str(value) for name, value in sorted(tags.items()) if value is not None}


def _string(value: str) -> str:
    """A tag's value with quotes and backslashes escaped (section 7), at most 255 characters."""
    escaped = re.sub(r'(["\\])', r"\\\1", clean(value))[:LONGEST_STRING]
    # A cut must not leave half an escape at the end.
    tail = len(escaped) - len(escaped.rstrip("\\"))
    return escaped[:-1] if tail % 2 else escaped


def _lines(tokens: list[str]) -> list[str]:
    """As many tokens to a line as fit (8.2.1)."""
    lines = [tokens[0]]
    for token in tokens[1:]:
        if len(lines[-1]) + 1 + len(token) <= LONGEST_LINE:
            lines[-1] += f" {token}"
        else:
            lines.append(token)
    return lines
