"""The opinion of a chess engine, any that speaks UCI, driven by python-chess.

One thread, a fixed depth, a fresh start: the same program gives the same opinion again.
Nothing else in Replybook needs an engine.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass

import chess
from chess.engine import INFO_ALL, EngineError, Limit, PlayResult, UciProtocol

from ingest.errors import InputError

DEPTH = 14
STARTING = 10.0  # seconds to say that it is a UCI engine
THINKING = 60.0  # seconds for one position, however deep
GRACE = 5.0  # seconds more until an engine that does not stop counts as hanging
CENTIPAWNS = 100

# What an engine writes out of turn is no talk of ours.
logging.getLogger("chess.engine").addHandler(logging.NullHandler())


@dataclass(frozen=True, slots=True)
class Evaluation:
    """What the engine thinks of one position, from White's side.

    ``pawns`` is None when it sees a mate or gives no score; ``mate_in`` is
    positive when White mates. ``best`` is the move it would play (None when
    the game is over), ``depth`` what it reached (None when it does not say).
    """

    pawns: float | None
    mate_in: int | None
    best: str | None
    depth: int | None


@dataclass(frozen=True, slots=True)
class Opinion:
    """The engine's name as it gives it, and its evaluations of the positions asked about."""

    engine: str
    evaluations: tuple[Evaluation, ...]


def opinion(
    path: str,
    boards: Sequence[chess.Board],
    depth: int = DEPTH,
    starting: float = STARTING,
    thinking: float = THINKING,
) -> Opinion:
    """What the engine at ``path`` thinks of some positions, one after the other.

    ``starting`` and ``thinking`` are limits in seconds. InputError, in one
    line, when the path is no UCI engine or the engine dies, hangs or errs.
    """
    try:
        return asyncio.run(_asked(path, boards, depth, starting, thinking))
    except TimeoutError as error:
        raise _trouble(path, "it does not answer as a UCI engine does") from error
    except OSError as error:
        raise _trouble(path, f"it cannot be started ({error.strerror})") from error
    except EngineError as error:
        raise _trouble(path, f"it stopped or answered what cannot be ({error})") from error


def _trouble(path: str, cause: str) -> InputError:
    return InputError(
        f"--engine {path}: {cause}; name the program file of a UCI engine, or leave the option out"
    )


async def _asked(
    path: str, boards: Sequence[chess.Board], depth: int, starting: float, thinking: float
) -> Opinion:
    transport, engine = await UciProtocol.popen(path, stderr=subprocess.DEVNULL)
    try:
        async with asyncio.timeout(starting):
            await engine.initialize()
            await engine.configure({"Threads": 1} if "Threads" in engine.options else {})
        limit = Limit(depth=depth, time=thinking)
        seen = []
        for board in boards:
            async with asyncio.timeout(thinking + GRACE):
                seen.append(await _evaluation(engine, board, limit))
        return Opinion(engine.id.get("name", path), tuple(seen))
    finally:
        transport.close()  # ends the process
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(asyncio.shield(engine.returncode), GRACE)


async def _evaluation(engine: UciProtocol, board: chess.Board, limit: Limit) -> Evaluation:
    """One position as a game of its own, so that nothing is kept from the one before."""
    if board.is_game_over():
        mate = 0 if board.is_checkmate() else None
        return Evaluation(None if mate == 0 else 0.0, mate, None, None)
    played = await engine.play(board, limit, game=object(), info=INFO_ALL)
    return _told(board, played)


def _told(board: chess.Board, played: PlayResult) -> Evaluation:
    told = played.info.get("score")
    pawns = mate = None
    if told is not None:
        mate = told.white().mate()
        centipawns = told.white().score()
        pawns = None if centipawns is None else centipawns / CENTIPAWNS
    best = None if played.move is None else board.san(played.move)
    return Evaluation(pawns, mate, best, played.info.get("depth"))
