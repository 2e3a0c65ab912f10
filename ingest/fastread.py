"""The fast reader: many texts at once, by rust-pgn-reader-python-binding.

It stops without a word at a blank line, a bracket or an open comment, plays
every variant as standard chess and is lax about tags. Games of which it cannot
be shown that it read what the reference reader reads are left to that one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.games import ReadGames
from ingest.headers import Heads, read_heads, strings_of
from ingest.poskey import I64, PositionArrays, keys_of
from ingest.reference import start_of
from ingest.tags import variant_of

try:
    from rust_pgn_reader_python_binding import parse_games
except ImportError:  # it has no wheel for every Python
    FAST_READER = False
else:
    FAST_READER = True

_TOKENS = {"White": "1-0", "Black": "0-1", "Draw": "1/2-1/2", "Unknown": "*"}
# A text that is read to its end although no result stops it: after the tags no
# variation, bracket, blank or escape line, and every comment closed.
_READ_WHOLE = re.compile(
    rb"""(?:\s*+\[[^\n"]*+"[^\n"]*+"[ \t]*+\][ \t\r]*+$)*+\s*+
    (?:[^{}()\[\];%\n]++|\{[^}]*+\}|\n(?![ \t\r]*+\n))*+\s*+""",
    re.VERBOSE | re.MULTILINE,
)


def read_fast(
    text: bytes, starts: I64, ends: I64, wanted: NDArray[np.bool_], threads: int
) -> list[ReadGames]:
    """Read the wanted texts ``text[starts[i]:ends[i]]`` (UTF-8); not all of them come back."""
    rows = np.flatnonzero(wanted)
    if not FAST_READER or not len(rows):
        return []
    heads = read_heads(text, starts[rows], ends[rows])
    rows = rows[heads.rows]
    texts = strings_of(text, starts[rows], ends[rows])
    games = []
    for numbers, parsed in _parse(texts, np.arange(len(rows)), threads):
        first = 0
        for part in parsed.chunks:
            of = numbers[first : first + part.num_games]
            first += part.num_games
            games.append(_accepted(part, rows[of], heads.take(of), text, starts, ends))
    return games


def _parse(texts: Any, rows: I64, threads: int) -> Iterator[tuple[I64, Any]]:
    """Parse the texts. One without any token is left out of the answer, so that the others
    cannot be told apart: halve until it stands alone.
    """
    try:
        parsed = parse_games(pa.chunked_array([texts]), num_threads=threads)
    except ValueError as error:
        if "thread pool" in str(error):  # what it says when a thread finds no memory
            raise MemoryError from error
        raise
    if parsed.num_games == len(rows):
        yield rows, parsed
    elif middle := len(rows) // 2:
        yield from _parse(texts[:middle], rows[:middle], threads)
        yield from _parse(texts[middle:], rows[middle:], threads)


def _accepted(
    part: Any, index: I64, heads: Heads, text: bytes, starts: I64, ends: I64
) -> ReadGames:
    """The games of one part of the fast reader's answer that were read as they should be."""
    tokens = list(map(_TOKENS.get, part.outcome))
    good = part.valid.copy()
    for game in np.flatnonzero([token is None for token in tokens]):
        row = index[game]
        good[game] &= _READ_WHOLE.fullmatch(text, starts[row], ends[row]) is not None
        # Whether a text without moves is a game at all, the reference reader says.
        good[game] &= heads.tagged[game]
    start_fen: list[str | None] = [None] * len(good)
    for row, fen in _judge_starts(part, heads.table, good).items():
        start_fen[row] = fen
    rows = np.flatnonzero(good)
    return ReadGames(
        index=index[rows],
        headers=heads.table.take(pa.array(rows)),
        tokens=[tokens[row] for row in rows.tolist()],
        start_fen=[start_fen[row] for row in rows.tolist()],
        positions=_positions(part, rows),
        checkmate=part.is_checkmate[rows],
        stalemate=part.is_stalemate[rows],
        cut=np.zeros(len(rows), np.bool_),
    )


def _positions(part: Any, games: I64) -> PositionArrays:
    """Some of the games of a part."""
    move_starts = part.move_offsets[:-1][games].astype(np.int64)
    return PositionArrays(
        boards=part.boards.reshape(-1, 64),
        castling=part.castling,
        en_passant=part.en_passant,
        turn=part.turn,
        clock=part.halfmove_clock,
        from_squares=part.from_squares,
        to_squares=part.to_squares,
        promotions=part.promotions,
        position_starts=part.position_offsets[:-1][games].astype(np.int64),
        move_starts=move_starts,
        lengths=part.move_offsets[1:][games] - move_starts,
    )


def _judge_starts(part: Any, headers: pa.Table, good: NDArray[np.bool_]) -> dict[int, str | None]:
    """Clear ``good`` of variants and of starting positions read otherwise than by python-chess.

    Returns the FEN of the games that do not begin as usual.
    """
    by_game: dict[int, dict[str, str]] = {}
    for tag in ("FEN", "Variant"):
        values = headers[tag].to_pylist()
        for game in np.flatnonzero(headers[tag].is_valid()).tolist():
            by_game.setdefault(game, {})[tag] = values[game]
    for game, tags in by_game.items():
        good[game] &= variant_of(tags) is None
    games = [game for game, tags in by_game.items() if good[game] and "FEN" in tags]
    keys = keys_of(_positions(part, np.array(games, np.int64)), 1)
    fens = {}
    for game, key in zip(games, keys.tolist(), strict=True):
        start = start_of(by_game[game]["FEN"])
        good[game] = start.reason is None and start.key == key
        fens[game] = start.fen
    return fens
