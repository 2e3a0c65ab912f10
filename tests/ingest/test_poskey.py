"""The position key: its definition, and that the array form is the scalar form."""

from __future__ import annotations

import csv
import random
from importlib.resources import files

import chess
import chess.polyglot
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ingest import poskey
from ingest.games import position_arrays, snapshot
from ingest.poskey import PositionArrays, format_key, key_of, keys_after, keys_of
from tests.support.game_texts import STARTS, play

# "Polyglot book format" page (hgm.nubati.net/book_format.html): its nine test vectors.
POLYGLOT_VECTORS = [
    ("", "463b96181691fc9c"),
    ("e2e4", "823c9b50fd114196"),
    ("e2e4 d7d5", "0756b94461c50fb0"),
    ("e2e4 d7d5 e4e5", "662fafb965db29d4"),
    ("e2e4 d7d5 e4e5 f7f5", "22a48b5a8e47ff78"),
    ("e2e4 d7d5 e4e5 f7f5 e1e2", "652a607ca3f242c1"),
    ("e2e4 d7d5 e4e5 f7f5 e1e2 e8f7", "00fdd303c946bdd9"),
    ("a2a4 b7b5 h2h4 b5b4 c2c4", "3c8123ea7b067637"),
    ("a2a4 b7b5 h2h4 b5b4 c2c4 b4c3 a1a3", "5c3f9b829b279560"),
]

# Pairs that differ in the en passant field alone: (before the field, field, whether the
# capture is legal). Computed with python-chess; the rule is FIDE Laws 2023, 9.2.3.1.
EN_PASSANT = [
    ("rnb1kbnr/pppp1p1p/4pq2/5Pp1/8/8/PPPPPKPP/RNBQ1BNR w kq", "g6", False),
    ("rnb1kbnr/pppp1p1p/5q2/4pPp1/8/8/PPPPPKPP/RNBQ1BNR w kq", "g6", False),
    ("8/8/8/8/k2pP2R/8/8/4K3 b -", "e3", False),
    ("4k3/8/4r3/3pP3/8/8/8/4K3 w -", "d6", False),
    ("rnbqkbnr/ppp1p1pp/8/3pPp2/8/8/PPPP1PPP/RNBQKBNR w KQkq", "f6", True),
    ("rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq", "e3", False),
]


def arrays(*games: chess.Board) -> PositionArrays:
    pairs = []
    for game in games:
        board, rows = game.root(), []
        rows.append(snapshot(board))
        for move in game.move_stack:
            board.push(move)
            rows.append(snapshot(board))
        pairs.append((rows, game.move_stack))
    return position_arrays(pairs)


def scalar(*games: chess.Board, plies: int = 10**6) -> list[int]:
    keys = []
    for game in games:
        board = game.root()
        walk = [key_of(board)]
        for move in game.move_stack:
            board.push(move)
            walk.append(key_of(board))
        keys += walk[:plies]
    return keys


def moves(line: str) -> chess.Board:
    board = chess.Board()
    for uci in line.split():
        board.push_uci(uci)
    return board


@pytest.mark.parametrize(("line", "key"), POLYGLOT_VECTORS)
def test_polyglot_vectors(line: str, key: str) -> None:
    """Both forms give the nine published keys."""
    board = moves(line)
    assert format_key(key_of(board)) == key
    assert format_key(int(keys_of(arrays(board))[-1])) == key


@pytest.mark.parametrize(("place", "field", "legal"), EN_PASSANT)
def test_en_passant_enters_only_when_legal(place: str, field: str, legal: bool) -> None:
    """The en passant file changes the key exactly when the capture is legal."""
    with_field, without = (chess.Board(f"{place} {ep} 0 4") for ep in (field, "-"))
    assert (key_of(with_field) != key_of(without)) == legal
    assert keys_of(arrays(with_field, without)).tolist() == scalar(with_field, without)


def test_pinned_pawn_reached_by_two_move_orders() -> None:
    """1.f4 e6 2.Kf2 Qf6 3.f5 g5 and 1.f4 g5 2.Kf2 e6 3.f5 Qf6 are one position.

    Polyglot's own rule tells them apart (2e4a2a43668395e5 and 598c0b8ff9303166,
    computed with python-chess).
    """
    late = moves("f2f4 e7e6 e1f2 d8f6 f4f5 g7g5")
    early = moves("f2f4 g7g5 e1f2 e7e6 f4f5 d8f6")
    assert key_of(late) == key_of(early) == 0x598C0B8FF9303166
    assert chess.polyglot.zobrist_hash(late) == 0x2E4A2A43668395E5
    assert keys_of(arrays(late))[-1] == keys_of(arrays(early))[-1]


def test_keys_of_an_independent_catalogue() -> None:
    """5,894 opening positions have the keys that the OCN catalogue gives them.

    Source: ocn-chess 1.2 (PyPI), "ocn-1.positions.tsv", catalogue by the OCN
    authors under CC BY 4.0.
    """
    text = (files("ocn") / "data" / "ocn-1.positions.tsv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines(), delimiter="\t"))
    assert len(rows) == 5894
    assert [key_of(chess.Board(row["fen"])) for row in rows] == [
        int(row["zobrist"]) for row in rows
    ]
    games = arrays(*(moves(row["moves_uci"]) for row in rows))
    last = keys_of(games)[games.position_starts + games.lengths]
    assert last.tolist() == [int(row["zobrist"]) for row in rows]


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32), st.sampled_from([None, *STARTS]))
def test_array_form_is_scalar_form(seed: int, fen: str | None) -> None:
    """On random games both forms agree, and with python-chess wherever that asks the same."""
    game = play(random.Random(seed), 60, fen)
    keys = keys_of(arrays(game)).tolist()
    assert keys == scalar(game)
    board = game.root()
    for move, key in zip([None, *game.move_stack], keys, strict=True):
        if move:
            board.push(move)
        if board.has_legal_en_passant() == board.has_pseudo_legal_en_passant():
            assert key == chess.polyglot.zobrist_hash(board)


@given(st.integers(0, 2**32), st.sampled_from([None, *STARTS]))
@settings(max_examples=60)
def test_the_keys_after_every_move_are_those_of_the_moves_played(
    seed: int, fen: str | None
) -> None:
    draw, board = random.Random(seed), chess.Board(fen or chess.STARTING_FEN)
    for _ in range(60):
        moves = list(board.legal_moves)
        wanted = {}
        for move in moves:
            board.push(move)
            wanted[move] = key_of(board)
            board.pop()
        assert keys_after(board) == wanted
        if not moves:
            break
        board.push(draw.choice(moves))


def test_random_games_hold_every_kind_of_move() -> None:
    """The random games of these tests castle, promote, take en passant, legally or not."""
    rng = random.Random(5)
    games = [play(rng, 60, rng.choice([None, *STARTS])) for _ in range(400)]
    seen = set()
    for game in games:
        board = game.root()
        for move in game.move_stack:
            seen.add("castling" * board.is_castling(move))
            seen.add("en passant" * board.is_en_passant(move))
            seen.add("promotion" * bool(move.promotion))
            board.push(move)
            if board.has_pseudo_legal_en_passant() and not board.has_legal_en_passant():
                seen.add("pinned")
    assert seen >= {"castling", "en passant", "promotion", "pinned"}
    assert keys_of(arrays(*games)).tolist() == scalar(*games)


@pytest.mark.parametrize("block", [1, 7, 100, 1 << 17])
def test_blocks_and_limits(monkeypatch: pytest.MonkeyPatch, block: int) -> None:
    """Neither the size of a block nor a limit of plies changes a key."""
    monkeypatch.setattr(poskey, "_BLOCK", block)
    rng = random.Random(9)
    games = [play(rng, length) for length in (0, 1, 3, 30, 0, 12)]
    assert keys_of(arrays(*games)).tolist() == scalar(*games)
    assert keys_of(arrays(*games), 4).tolist() == scalar(*games, plies=4)


def test_no_games() -> None:
    """No games have no keys."""
    assert keys_of(arrays()).dtype == np.uint64
    assert len(keys_of(arrays())) == 0
