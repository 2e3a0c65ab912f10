"""POSITION as a person types it on a command line -> a `Position`."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence

import chess

from explorer.positions.fen import board_of, looks_like_fen, split_fen
from explorer.positions.moves import looks_like_moves, play
from explorer.positions.names import Named, find_name, similar_names
from explorer.positions.position import Position, position_of
from ingest.errors import PositionError

CHOICES_SHOWN = 6


def parse_position(
    words: str | Sequence[str], letters: str | None = None, *, files: bool = True
) -> Position:
    """Moves, a FEN (with moves after it if wanted), ``file.pgn`` or an opening's name.

    ``words`` may be one quoted text or several words; none at all is the
    normal starting position. ``letters`` (a code or a language) says whose
    piece letters are typed. Without ``files`` no file is looked for.
    PositionError when the text cannot be read, InputError when a file cannot
    be used, UsageError for unknown letters.
    """
    text = words if isinstance(words, str) else " ".join(words)
    text = text.strip().strip("\"'“”„").strip()
    if files and _is_file(text):
        # Only here: chess.pgn brings much of the standard library with it.
        from explorer.positions.game_file import first_mainline

        return position_of(first_mainline(text))
    board = chess.Board()
    if looks_like_fen(text):
        fen, text = split_fen(text)
        board = board_of(fen)
    elif text and not looks_like_moves(text):
        text = " ".join(_named(text).line)
    play(board, text, letters)
    return position_of(board)


def typed_at(here: Position, text: str) -> Position:
    """What is typed while a position is in view: moves go on from it if they can be played there.

    Moves that begin with ``1.``, or that are illegal here, are played from the normal start; a
    FEN or a name is what it is to `parse_position`, and no file is looked for. PositionError.
    """
    if not text.strip():
        return here
    anew = re.match(r"\s*1\s*\.(?!\.)", text) or looks_like_fen(text)
    if anew or not looks_like_moves(text):
        return parse_position(text, files=False)
    board = here.board()
    try:
        play(board, text)
    except PositionError as fault:
        return _from_the_start(text, fault)
    return position_of(board)


def _from_the_start(text: str, fault: PositionError) -> Position:
    try:
        return parse_position(text, files=False)
    except PositionError:
        raise fault from None


def _is_file(text: str) -> bool:
    """Whether a PGN file is meant."""
    return text.lower().endswith(".pgn") or (os.path.isfile(text) and not looks_like_moves(text))


def _named(text: str) -> Named:
    """The one named position that the text means."""
    found = find_name(text)
    if len(found) == 1:
        return found[0]
    if found:
        raise PositionError(f"{text}: {_choices(found)}; write more of the name")
    if similar := similar_names(text):
        raise PositionError(f"{text}: no opening has that name; did you mean {'; '.join(similar)}?")
    raise PositionError(
        f"{text}: neither moves, nor a FEN, nor a .pgn file, nor an opening's name; "
        'write for example "e4 e5 Nf3" or "Italian Game"'
    )


def _choices(found: Sequence[Named]) -> str:
    """How many openings are meant, and the shortest lines among them by name."""
    first = sorted(found, key=lambda named: len(named.line))[:CHOICES_SHOWN]
    more = f"; and {len(found) - len(first)} more" if len(found) > len(first) else ""
    return f"{len(found)} openings fit: {'; '.join(n.name for n in first)}{more}"
