"""An engine's opinion is asked with bounds; whatever it does, there is one line."""

from __future__ import annotations

import os
from pathlib import Path

import chess
import pytest

from explorer.positions.engine import opinion
from explorer.positions.typed import parse_position
from ingest.errors import InputError
from tests.support.engines import make_engine

STOCKFISH = Path("/usr/games/stockfish")
BEFORE = "e4 e5 Nf3"
pytestmark = pytest.mark.skipif(os.name == "nt", reason="the toy engines are Unix scripts")


def boards(*lines: str) -> list[chess.Board]:
    return [parse_position(line).board() for line in lines]


def test_the_scores_are_whites_and_the_best_moves_are_named(tmp_path: Path) -> None:
    asked = boards(BEFORE, f"{BEFORE} f6")
    told = opinion(str(make_engine(tmp_path)), asked)
    assert told.engine == "Lantern Toy"
    before, after = told.evaluations
    assert (before.pawns, before.mate_in, before.best, before.depth) == (0.28, None, "Nc6", 14)
    assert (after.pawns, after.mate_in, after.best, after.depth) == (1.48, None, "Nxe5", 14)


def test_the_depth_is_the_one_asked_for(tmp_path: Path) -> None:
    told = opinion(str(make_engine(tmp_path, depth=5)), boards(BEFORE), depth=5)
    assert told.evaluations[0].depth == 5


def test_an_engine_that_gives_no_score_still_names_a_move(tmp_path: Path) -> None:
    told = opinion(str(make_engine(tmp_path, "mute")), boards(f"{BEFORE} f6"))
    assert told.evaluations[0].best == "Nxe5"
    assert told.evaluations[0].pawns is told.evaluations[0].mate_in is None


def test_a_game_that_is_over_is_not_asked_about(tmp_path: Path) -> None:
    stalemate = chess.Board("7k/5Q2/6K1/8/8/8/8/8 b - - 0 1")
    told = opinion(str(make_engine(tmp_path, "dies")), [*boards("f3 e5 g4 Qh4#"), stalemate])
    mate, draw = told.evaluations
    assert (mate.mate_in, mate.pawns, mate.best) == (0, None, None)
    assert (draw.mate_in, draw.pawns, draw.best) == (None, 0.0, None)


@pytest.mark.parametrize(
    ("trouble", "cause"),
    [
        ("silent", "it does not answer as a UCI engine does"),
        ("hangs", "it does not answer as a UCI engine does"),
        ("dies", "it stopped or answered what cannot be"),
        ("raves", "it stopped or answered what cannot be"),
    ],
)
def test_an_engine_in_trouble_gets_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, trouble: str, cause: str
) -> None:
    monkeypatch.setattr("explorer.positions.engine.GRACE", 0.5)
    path = make_engine(tmp_path, trouble)
    with pytest.raises(InputError) as told:
        opinion(
            str(path),
            boards(f"{BEFORE} f6"),
            starting=5.0 - 4 * (trouble == "silent"),
            thinking=0.5,
        )
    assert str(told.value).startswith(f"--engine {path}: {cause}")
    assert "leave the option out" in str(told.value)
    assert "\n" not in str(told.value)


@pytest.mark.parametrize("path", ["no/such/engine", "/bin/true", os.curdir, "/bin/cat"])
def test_a_path_that_is_no_engine_gets_one_line(path: str) -> None:
    with pytest.raises(InputError, match=f"--engine {path}: .*; name the program file"):
        opinion(path, boards(BEFORE), starting=0.5)


@pytest.mark.skipif(not STOCKFISH.is_file(), reason="needs Debian's package stockfish")
def test_a_real_engine_sees_the_mistake() -> None:
    """Signs, best move and a wide band only: scores differ from build to build.

    Debian's stockfish 15.1-4 at depth 14, one thread: +0.28 before 2... f6 and
    3... Qe7 as the best answer to 3. Nxe5 with +1.43.
    """
    told = opinion(str(STOCKFISH), boards(f"{BEFORE} Nc6", f"{BEFORE} f6 Nxe5"))
    before, after = (one.pawns for one in told.evaluations)
    assert before is not None
    assert after is not None
    assert before < 1.0 <= after < 3.0
    assert told.evaluations[1].best == "Qe7"
