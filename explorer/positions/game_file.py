"""The mainline of the first game of a PGN file -> a board."""

from __future__ import annotations

import codecs
import io
import re
from pathlib import Path

import chess
import chess.pgn

from explorer.positions.fen import impossible
from ingest.errors import InputError
from ingest.tags import variant_of


def first_mainline(path: str) -> chess.Board:
    """The board after the mainline of a file's first game, its moves on the stack.

    InputError, in one line, when there is no such file or game, the game is of
    a variant, or one of its moves is illegal.
    """
    stream = io.StringIO(text_of(path))
    reader = _Mainline()
    found = chess.pgn.read_game(stream, Visitor=lambda: reader)
    if found is None or not (reader.tags or reader.moves):
        raise InputError(f"{path}: no game in it; give a PGN file, or type the moves")
    if fault := _variant_or_start_fault(reader):
        raise InputError(f"{path}: its first game {fault}; give another file, or type the moves")
    board = chess.Board(reader.start)
    for move in reader.moves:
        board.push(move)
    if reader.fault is not None:
        raise InputError(f"{path}: {_where(board, reader.fault)}; correct it, or type the moves")
    return board


def text_of(path: str) -> str:
    """The file's text: UTF-8, or Latin-1 as the PGN standard has it (section 4.1)."""
    try:
        raw = Path(path).read_bytes()
    except FileNotFoundError as error:
        raise InputError(f"{path}: no such file; check its name and folder") from error
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); check it") from error
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.removeprefix(codecs.BOM_UTF8).decode("latin-1")


def _variant_or_start_fault(reader: _Mainline) -> str | None:
    """Why the game cannot be followed from its start, as the end of a sentence."""
    if variant := variant_of(reader.tags):
        return f"is {variant}, not chess by the usual rules"
    if not reader.begun:
        return "has a FEN tag that cannot be read"
    reason = impossible(chess.Board(reader.start))
    return f"has an impossible FEN tag ({reason})" if reason else None


def _where(board: chess.Board, fault: Exception) -> str:
    """The move at which the first game goes wrong: the next one on the board."""
    side = "White" if board.turn else "Black"
    typed = re.search(r"san: '([^']*)'", str(fault))
    move = f" ({typed[1]})" if typed else ""
    return f"illegal move in its first game at move {board.fullmove_number}, {side}{move}"


class _Mainline(chess.pgn.BaseVisitor[bool]):
    """Collects tags, start and mainline moves up to the first fault."""

    def __init__(self) -> None:
        self.tags: dict[str, str] = {}
        self.start = chess.STARTING_FEN
        self.moves: list[chess.Move] = []
        self.fault: Exception | None = None
        self.begun = False

    def visit_header(self, tagname: str, tagvalue: str) -> None:
        self.tags[tagname] = tagvalue

    def visit_board(self, board: chess.Board) -> None:
        if not self.begun:
            self.begun, self.start = True, board.fen(en_passant="fen")

    def begin_variation(self) -> chess.pgn.SkipType:
        return chess.pgn.SKIP

    def visit_move(self, board: chess.Board, move: chess.Move) -> None:
        if self.fault is None:
            self.moves.append(move)

    def handle_error(self, error: Exception) -> None:
        self.fault = self.fault or error

    def result(self) -> bool:
        return True
