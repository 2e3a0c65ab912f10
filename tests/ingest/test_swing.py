"""The swing of a move, against a slow reading of its definition."""

from __future__ import annotations

import random

import chess
import numpy as np
import pytest

from ingest.games import position_arrays, snapshot
from ingest.swing import swings_of
from tests.support.game_texts import STARTS, play

WORTH = {chess.PAWN: 1, chess.KNIGHT: 3, chess.BISHOP: 3, chess.ROOK: 5, chess.QUEEN: 9}


def walk(game: chess.Board) -> list[chess.Board]:
    """Every position of a game."""
    boards = [game.root()]
    for move in game.move_stack:
        boards.append(boards[-1].copy(stack=False))
        boards[-1].push(move)
    return boards


def balance(board: chess.Board, side: chess.Color) -> int:
    pieces = board.piece_map().values()
    return sum(WORTH.get(p.piece_type, 0) * (1 if p.color == side else -1) for p in pieces)


def slow_swing(boards: list[chess.Board], ply: int, finished: bool) -> int | str | None:
    """The definition word by word: pawns, "mated", or None for unknown."""
    mover, last = boards[ply].turn, len(boards) - 1
    if boards[last].is_checkmate() and boards[last].turn == mover and last <= ply + 16:
        return "mated"
    seen = [balance(board, mover) for board in boards]
    for later in range(ply + 8, ply + 17):
        if finished and later >= last:
            return seen[last] - seen[ply]
        if later > last:
            return None
        quiet = later < last and seen[later - 1] == seen[later] == seen[later + 1]
        if quiet or later == ply + 16:
            return seen[later] - seen[ply]
    raise AssertionError


def swings(games: list[chess.Board], finished: list[bool], plies: int) -> list[int | str | None]:
    pairs = [([snapshot(board) for board in walk(game)], game.move_stack) for game in games]
    mates = [game.is_checkmate() for game in games]
    found = swings_of(position_arrays(pairs), plies, np.array(finished), np.array(mates))
    assert not (found.known & found.mated).any()
    assert not found.swing[~found.known].any()
    return [
        "mated" if mated else int(swing) if known else None
        for swing, known, mated in zip(found.swing, found.known, found.mated, strict=True)
    ]


@pytest.mark.parametrize("plies", [1, 5, 40, 200])
def test_swing_is_its_definition(plies: int) -> None:
    """On random games, finished and not, the arrays say what the definition says."""
    rng = random.Random(plies)
    games = [play(rng, rng.randrange(60), rng.choice([None, None, *STARTS])) for _ in range(60)]
    games += [san("f3 e5 g4 Qh4#"), san("e4 e5 Bc4 Nc6 Qh5 Nf6 Qxf7#"), chess.Board()]
    finished = [game.is_checkmate() or rng.random() < 0.5 for game in games]
    expected = [
        slow_swing(boards, ply, done)
        for boards, done in zip(map(walk, games), finished, strict=True)
        for ply in range(min(len(boards) - 1, plies))
    ]
    assert swings(games, finished, plies) == expected


def san(line: str) -> chess.Board:
    board = chess.Board()
    for move in line.split():
        board.push_san(move)
    return board


def test_damiano_as_it_stands_when_quiet() -> None:
    """2...f6 3.Nxe5 fxe5 4.Qh5+ Ke7 5.Qxe5+ Kf7 6.Bc4+ Kg6: for f6 Black has a knight for two
    pawns, known only once the move after the eighth ply is on record.

    Line: Wikibooks, "Damiano Defence". Knight 3, pawn 1: common practice, no source.
    """
    line = "e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+ Ke7 Qxe5+ Kf7 Bc4+"
    assert swings([san(line + " Kg6")], [False], 40)[3] == 1
    assert swings([san(line)], [False], 40)[3] is None
    assert swings([san(line)], [True], 40)[3] == 1


def test_mated_is_told_apart() -> None:
    """The moves of the side that is mated have no swing; the winner's have one."""
    found = swings([san("f3 e5 g4 Qh4#")], [True], 40)
    assert found == ["mated", 0, "mated", 0]


def test_mate_after_a_quiet_ply_still_counts_as_mated() -> None:
    """A mate at most sixteen plies after the move counts, though material was quiet before."""
    game = san("e4 e5 Nf3 Nf6 Nc3 Nc6 Ng1 Ng8 Nf3 Nf6 Ng1 Ng8 Bc4 Nb8 Qh5 Nc6 Qxf7#")
    found = swings([game], [True], 40)
    assert found[1] == "mated"  # from ply 1 to ply 17
    assert found[0] == 0  # the winner's swing is settled at the quiet ply
