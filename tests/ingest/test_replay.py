"""Batches of texts to visits: both readers alike, and both as a slow recount says."""

from __future__ import annotations

import io
import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import fields
from typing import Any

import chess
import chess.pgn
import numpy as np
import pytest

from ingest import fastread
from ingest.poskey import key_of
from ingest.replay import CUT_SHORT, NOTED, REJECTED, Batch, Remark, replay
from ingest.schema import END_CHECKMATE, END_OF_RECORD, END_STALEMATE
from tests.support.game_texts import texts

TAGS = '[Event "Invented Cup"]\n[White "Ada Example"]\n'
# Texts that tell readers apart: (text, whether the fast reader's answer may stand).
ODD_TEXTS = [
    ("", False),
    (" \n\n", False),
    ("{only words}", False),
    ("1. e4 e5 1-0", True),
    (TAGS, True),
    (TAGS + "\n*\n", True),
    (TAGS + "\n1. e4 e5", True),
    (TAGS + "\n1. e4 {c} e5\n; c\n", False),
    (TAGS + "\n1. e4 {c} e5 \n \n", True),
    (TAGS + "\n1. e4 e5\n\n2. Nf3 1-0\n", False),
    (TAGS + "\n1. e4 e5 (1... c5\n\n1... c6) 2. Nf3 1-0\n", False),
    (TAGS + "\n1. e4 [Site \"x\"] e5 1-0\n", False),
    (TAGS + "\n1. e4 {open e5 1-0\n", False),
    (TAGS + "\n1. e4\n% { \n\n a } e5 0-1\n", False),
    (TAGS + "\n1. e4 (open e5 1-0\n", False),
    (TAGS + "\n1. e4 e5 ) } 1-0 0-1\n", True),
    (TAGS + "\n1. e4 * e5 1-0\n", True),
    (TAGS + "\n1. e4 (1. d4 1-0) e5 0-1\n", True),
    (TAGS + "\n1. e4 Nf4 2. d4 0-1\n", False),
    (TAGS + "\n1. e2-e4 e7-e5 1/2\n", False),
    (TAGS + "\n1. e2e4 xyz\n", False),
    (TAGS + "\n1. e4 d5 2. xd5 1-0", True),
    (TAGS + "\n1. e4 -- 1-0", False),
    (TAGS + "\n1. f3 e5 2. g4 Qh4# 3. a3 0-1", False),
    (TAGS + '[Variant "Atomic"]\n\n1. e4 e5 1-0\n', False),
    (TAGS + '[Variant "Standard"]\n\n1. e4 e5 1-0\n', True),
    (TAGS + '[Variant "Chess960"]\n\n1. e4 e5 1-0\n', False),
    (TAGS + '[variant "Atomic"]\n\n1. e4 e5 1-0\n', False),
    (TAGS + '[FEN "4k3/8/8/8/8/8/4P3/4K3 w - - 300 39"]\n\n39. e4 Kd7 1-0\n', True),
    (TAGS + '[fen "4k3/8/8/8/8/8/4P3/4K3 w - - 5 39"]\n\n39. e4 Kd7 1-0\n', False),
    (TAGS + '[FEN "4k3/8/8/8/8/8/4P3/4K3 w KQ - 5 39"]\n\n39. e4 Kd7 1-0\n', False),
    (TAGS + '[FEN "bbqnnrkr/pppppppp/8/8/8/8/PPPPPPPP/BBQNNRKR w HFhf - 0 1"]\n\n1. e4 *\n', False),
    (TAGS + '[FEN ""]\n\n1. e4 *\n', False),
    (TAGS + '[FEN "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w HAha - 0 1"]\n\n1. e4 *\n', True),
    ('[Event "He said "hi" there"]\n\n1. e4 *\n', False),
    ('[Event "a\nb"]\n\n1. e4 *\n', False),
    ('[Event "a" ]\n[Site"b"]\n\n1. e4 *\n', False),
    ('[Event "a\\\\"]\n\n1. e4 *\n', False),
    ('[Event "a"]\n% aside\n[ Site "b"]\n\n1. e4 *\n', False),
    ('[Event "Käse"]\n\n1. e4 {Größe} *\n', True),
]  # fmt: skip


def run(
    games: Sequence[str],
    *,
    careful: bool = False,
    plies: int = 40,
    strict: bool = False,
    gap: str = "",
) -> Batch:
    encoded = [text.encode() for text in games]
    between = gap.encode()
    lengths = np.array([len(text) for text in encoded], np.int64)
    ends = np.cumsum(lengths + len(between)) - len(between)
    flags = np.full(len(games), careful)
    return replay(
        between.join(encoded), ends - lengths, ends, flags, plies=plies, strict=strict, threads=2
    )


def values(batch: Batch) -> dict[str, Any]:
    """A batch without the count that tells the readers apart; arrays with their types."""
    columns = {field.name: getattr(batch, field.name) for field in fields(Batch)}
    del columns["reference_games"]
    return {
        name: (value.dtype, value.tolist()) if isinstance(value, np.ndarray) else value
        for name, value in columns.items()
    }


@pytest.mark.parametrize("seed", range(3))
def test_both_readers_alike_on_random_games(seed: int) -> None:
    """Every column of random games in random styles is the same by either reader."""
    games = texts(seed, 80)
    mixed = run(games, plies=30)
    assert 0 < mixed.reference_games < 80
    assert values(mixed) == values(run(games, careful=True, plies=30))


@pytest.mark.parametrize(("text", "fast"), ODD_TEXTS)
def test_both_readers_alike_on_odd_texts(text: str, fast: bool) -> None:
    """What the fast reader would misread goes to the reference reader."""
    if fastread.FAST_READER:
        assert run([text]).reference_games == (0 if fast else 1)
    assert values(run([text])) == values(run([text], careful=True))


@pytest.mark.parametrize("gap", ["", "\n\n", "\n1. a3 {not a game of the list} 0-1\n\n"])
def test_both_readers_alike_on_odd_texts_together(gap: str) -> None:
    """One odd text changes nothing for the others, nor does what lies between them."""
    games = [text for text, _ in ODD_TEXTS]
    assert values(run(games, gap=gap)) == values(run(games, careful=True))


def test_without_the_fast_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the fast reader cannot be had, the reference reader serves for all."""
    games = texts(7, 30)
    expected = values(run(games))
    monkeypatch.setattr(fastread, "FAST_READER", False)
    found = run(games)
    assert found.reference_games == 30
    assert values(found) == expected


def recount(text: str, plies: int) -> list[tuple[int, ...]]:
    """The visits of one game with a legal mainline, position by position: first arrivals at
    (key, move, piece, ply, white to move)."""
    tags, _, moves = text.partition("\n\n")
    game = chess.pgn.read_game(io.StringIO(tags + "\n\n" + moves.replace("\n\n", "\n")))
    assert game is not None
    assert not game.errors
    board, line = game.board(), list(game.mainline_moves())
    end = game.end().board()
    ending = END_CHECKMATE if end.is_checkmate() else END_STALEMATE if end.is_stalemate() else 0
    seen: set[int] = set()
    rows = []
    for ply, move in enumerate([*line, None][:plies]):
        if key_of(board) not in seen:
            packed, piece = 0, ending
            if move:
                packed = move.from_square + 64 * move.to_square + 4096 * (move.promotion or 0)
                piece = board.piece_type_at(move.from_square) or 0
            rows.append((key_of(board), packed, piece, ply, int(board.turn)))
        seen.add(key_of(board))
        if move:
            board.push(move)
    return rows


@pytest.mark.parametrize("plies", [1, 6, 40, 255])
def test_visits_are_first_arrivals(plies: int) -> None:
    """A game counts once per position, by its first arrival, and where it stops in time."""
    games = texts(plies, 60, plies=90, plain=True)
    batch = run(games, plies=plies)
    assert batch.rejects == []
    found: list[list[tuple[int, ...]]] = [[] for _ in games]
    columns = (batch.key, batch.move, batch.piece, batch.ply, batch.white_to_move)
    for game, *row in zip(batch.game.tolist(), *(c.tolist() for c in columns), strict=True):
        found[game].append(tuple(int(value) for value in row))
    assert found == [recount(text, plies) for text in games]
    if plies > 6:
        assert sum(map(len, found)) < sum(min(plies, len(line(text)) + 1) for text in games)


def line(text: str) -> list[int]:
    return run([text]).moves.tolist()


def test_end_rows() -> None:
    """The last row of a record says why it stops: mate, stalemate, or just its end."""
    mate = TAGS + "\n1. f3 e5 2. g4 Qh4# 0-1\n"
    stalemate = '[FEN "7k/8/5K2/6Q1/8/8/8/8 w - - 0 1"]\n\n1. Qg6 1/2-1/2\n'
    batch = run([mate, stalemate, TAGS + "\n1. e4 *\n", TAGS])
    assert batch.ending.tolist() == [END_CHECKMATE, END_STALEMATE, END_OF_RECORD, END_OF_RECORD]
    stops = batch.move == 0
    assert batch.game[stops].tolist() == [0, 1, 2, 3]
    assert batch.piece[stops].tolist() == batch.ending.tolist()
    assert batch.ply[stops].tolist() == [4, 1, 1, 0]
    assert not batch.swing_known[stops].any()
    assert batch.mated[batch.game == 0].tolist() == [True, False, True, False, False]


def test_game_as_long_as_the_limit_has_no_end_row() -> None:
    """A game that ends at ply N or later has no row for its end."""
    assert 0 not in run([TAGS + "\n1. e4 e5 *"], plies=2).move
    assert run([TAGS + "\n1. e4 e5 *"], plies=3).move[-1] == 0


def test_cut_short() -> None:
    """A game with an illegal move keeps what is before it, has no end row, and is named."""
    text = TAGS + "\n1. e4 e5 2. Nf3 Nxe4 3. d3 1-0\n"
    batch = run([TAGS + "\n1. d4 *", text, TAGS + "\n1. c4 1-0"])
    assert batch.index.tolist() == [0, 1, 2]
    assert batch.cut_ply.tolist() == [-1, 3, -1]
    assert batch.move_offsets.tolist() == [0, 1, 4, 5]
    assert batch.remarks[0] == Remark(1, CUT_SHORT, "illegal move 2...Nxe4")
    cut = batch.game == 1
    assert (batch.move[cut] != 0).all()
    assert not batch.swing_known[cut].any()


def test_strict_rejects_what_would_be_cut() -> None:
    """With strict, a game with an unreadable move is rejected whole."""
    text = TAGS + "\n1. e4 e5 2. Nf3 Nxe4 3. d3 1-0\n"
    batch = run([text, TAGS + "\n1. d4 *"], strict=True)
    assert batch.rejects == [Remark(0, REJECTED, "illegal move 2...Nxe4")]
    assert batch.index.tolist() == [1]


def test_variant_is_rejected_with_its_name() -> None:
    """A game of another variant is rejected, and the reason names it."""
    batch = run([TAGS + '[Variant "Atomic"]\n\n1. e4 e5 1-0\n'])
    assert batch.rejects == [
        Remark(0, REJECTED, "played by the rules of Atomic, not of standard chess")
    ]
    assert len(batch.index) == len(batch.key) == len(batch.moves) == 0


def test_results_and_what_is_noted() -> None:
    """The Result tag counts before the token; a difference is noted, but not of a cut game."""
    results = [("1-0", "1-0"), ("1-0", "0-1"), ("*", "1/2-1/2"), ("*", "*"), ("0-1", "Qx9")]
    games = [f'[Result "{tag}"]\n\n1. e4 e5 {token}\n' for tag, token in results]
    batch = run(games)
    assert batch.result.tolist() == [2, 2, 1, -1, 0]
    kinds = Counter((remark.index, remark.kind) for remark in batch.remarks)
    assert kinds == {(1, NOTED): 1, (2, NOTED): 1, (4, CUT_SHORT): 1}


def test_game_from_a_fen() -> None:
    """A FEN game enters with its own first position, Black to move at ply 0 here."""
    fen = "4k3/8/8/8/8/8/4P3/4K3 b - - 5 39"
    batch = run(
        [f'[FEN "{fen}"]\n\n39... Kd7 40. e4 *', f'[FEN "{chess.STARTING_FEN}"]\n\n1. e4 *']
    )
    assert batch.start_fen == [fen, None]
    assert batch.white_to_move.tolist() == [False, True, False, True, False]
    assert batch.key[0] == key_of(chess.Board(fen))
    assert batch.key[3] == key_of(chess.Board())


def test_every_game_of_three_plies() -> None:
    """8,902 games of three plies reach 1, 20, 400 and 5,362 positions.

    Sources: OEIS A048987 (games) and A083276 (distinct positions by FIDE's rule).
    """
    games = []
    board = chess.Board()

    def visit(words: list[str], depth: int) -> None:
        if depth == 0:
            games.append(" ".join(words) + " *\n")
            return
        for move in board.legal_moves:
            san = board.san(move)
            board.push(move)
            visit([*words, san], depth - 1)
            board.pop()

    visit([], 3)
    assert len(games) == 8902
    batch = run(games)
    assert len(batch.index) == 8902
    distinct = [len(np.unique(batch.key[batch.ply == ply])) for ply in range(4)]
    assert distinct == [1, 20, 400, 5362]
    assert np.bincount(batch.ply).tolist() == [8902] * 4


@pytest.mark.parametrize("make", [lambda: [], lambda: [""], lambda: ["", "{x}"]])
def test_nothing_to_read(make: Callable[[], list[str]]) -> None:
    """No texts, or none with a game in it, give an empty batch; each text has its reason."""
    batch = run(make())
    assert len(batch.index) == len(batch.key) == 0
    assert [remark.reason for remark in batch.rejects] == [
        "no tags, no moves and no result" for _ in make()
    ]


def test_random_damage() -> None:
    """Texts damaged at random are read alike by either reader, and none is lost."""
    rng = random.Random(77)
    pieces = [*' \n{}()[];%$!.*"\\=', "\n\n", "1-0", "e4", "--", "Nf3", '\n[Site "x"]\n', "é", "\0"]
    games = []
    for text in texts(78, 150, plies=25):
        at = rng.randrange(len(text))
        games.append(text[:at] + rng.choice(pieces) + text[at + rng.randrange(3) :])
    found = run(games)
    assert len(found.index) + len(found.rejects) == len(games)
    assert values(found) == values(run(games, careful=True))
