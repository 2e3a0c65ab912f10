"""A hunt for files that break the way in: ``python -m tests.fuzz MINUTES [SEED]``.

Each case is a damaged file, made from its seed and number. It goes through
splitter, tags and replay, now and then packed or into a library. What must hold:

* no exception but ours, no case that computes longer than BOUND;
* found = readable + rejected; no game is lost, none is there twice;
* how the bytes are cut into pieces changes nothing, nor does the splitter's fast look;
* the fast reader and the reference reader agree on every game;
* moves are legal, and keys are those of python-chess.

A failing case is named; ``examine(SEED, NUMBER)`` runs it again.
"""

from __future__ import annotations

import bz2
import faulthandler
import gzip
import io
import lzma
import signal
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import fields
from pathlib import Path
from random import Random
from typing import Any
from unittest.mock import patch

import chess
import numpy as np
import pyarrow as pa

from ingest import splitter
from ingest.errors import InputError
from ingest.pipeline import add_collection
from ingest.poskey import key_of
from ingest.replay import CUT_SHORT, NOTED, Batch, replay
from ingest.sources import find_sources
from ingest.splitter import MAX_GAME_BYTES, Block, split
from ingest.survey import Survey, survey
from ingest.tags import columns
from ingest.verify import verify
from tests.support.mangled import damaged, mangled

BOUND = 60  # seconds of computing that a case may take; most take a hundredth of one
PLIES = 30
PACKED_ONCE_IN, ADDED_ONCE_IN = 20, 150
MOST_FAILURES = 20


def examine(seed: int, number: int) -> Counter[str]:
    """Make a case and check all that must hold; what was in it, counted. AssertionError if not.

    A case that does not end ends the process, which says where it was.
    """
    random = Random(f"{seed} {number}")
    raw = mangled(random)
    _bound(BOUND)
    try:
        counts = _split_and_read(random, raw)
        if number % PACKED_ONCE_IN == 0:
            counts += _packed(random, raw)
        if number % ADDED_ONCE_IN == 0:
            counts += _added(raw)
    finally:
        _bound(0)
    return counts


def _bound(seconds: int) -> None:
    """End the process after so much computing, 0 for never; sleep and other programs do not count.

    Windows has no such clock.
    """
    if sys.platform != "win32":
        faulthandler.register(signal.SIGPROF, chain=True)
        signal.setitimer(signal.ITIMER_PROF, seconds)


def _split_and_read(random: Random, raw: bytes) -> Counter[str]:
    longest = random.choice((300, 5000, MAX_GAME_BYTES, MAX_GAME_BYTES))
    blocks = list(split([raw], max_game_bytes=longest))
    games = _told(blocks)
    size = random.choice((1, 7, 100, 1000, 10_000)) if len(raw) < 3000 else 1000
    pieces = [raw[at : at + size] for at in range(0, len(raw), size)]
    again = list(split(pieces, block_bytes=random.choice((1, 500, 9000)), max_game_bytes=longest))
    assert _told(again) == games, "the cuts change the games"
    with patch.object(splitter, "survey", _nothing_plain):
        assert _told(list(split([raw], max_game_bytes=longest))) == games, "the fast look differs"
    counts = Counter(cases=1, games=len(games))
    for block in blocks:
        counts += _read(random, block)
    return counts


def _nothing_plain(text: bytes, longest: int) -> Survey:
    """The survey when every game must be walked through."""
    found = survey(text, longest)
    return Survey(found.starts, found.ends, np.arange(len(found.starts)), found.newlines)


def _told(blocks: Sequence[Block]) -> list[tuple[object, ...]]:
    """All that the splitter says of each game, checked for order."""
    told: list[tuple[object, ...]] = []
    for block in blocks:
        bounds = np.stack([block.starts, block.ends], axis=1).ravel()
        assert (np.diff(bounds) >= 0).all(), "games overlap"
        assert (block.starts < block.ends).all(), "an empty game"
        assert (np.diff(block.lines) >= 0).all(), "lines run back"
        assert set(block.faults) <= set(range(len(block.starts)))
        for i, (start, end) in enumerate(zip(block.starts, block.ends, strict=True)):
            text = block.text[start:end]
            text.decode()
            assert block.first_number + i == len(told) + 1, "numbers have a gap"
            told.append((int(block.lines[i]), text, bool(block.careful[i]), block.faults.get(i)))
    return told


def _read(random: Random, block: Block) -> Counter[str]:
    """Replay a block's games by both readers."""
    sound = np.setdiff1d(np.arange(len(block.starts)), list(block.faults))
    starts, ends, careful = block.starts[sound], block.ends[sound], block.careful[sound]
    batch = replay(block.text, starts, ends, careful, plies=PLIES, strict=False)
    slow = replay(block.text, starts, ends, np.ones_like(careful), plies=PLIES, strict=False)
    assert _values(batch) == _values(slow), "the readers differ"
    strict = replay(block.text, starts, ends, careful, plies=PLIES, strict=True)
    assert strict.index.tolist() == batch.index[batch.cut_ply < 0].tolist(), "strict differs"
    rejected = [remark.index for remark in batch.rejects]
    assert sorted((*batch.index.tolist(), *rejected)) == list(range(len(sound))), "games lost"
    _remarks_are_sound(batch)
    tags = columns(batch.headers)
    assert {len(getattr(tags, field.name)) for field in fields(tags)} == {len(batch.index)}
    if len(batch.index):
        _game_is_legal(batch, random.randrange(len(batch.index)))
    return Counter(
        readable=len(batch.index),
        rejected=len(rejected) + len(block.faults),
        cut_short=int((batch.cut_ply >= 0).sum()),
        by_the_fast_reader=len(sound) - batch.reference_games,
        noted=sum(remark.kind == NOTED for remark in batch.remarks),
        in_other_letters=sum("piece letters: " in remark.reason for remark in batch.remarks),
    )


def _values(batch: Batch) -> dict[str, Any]:
    """A batch without the count that tells the readers apart; arrays with their types."""
    values = {field.name: getattr(batch, field.name) for field in fields(Batch)}
    del values["reference_games"]
    return {
        name: (value.dtype, value.tolist()) if isinstance(value, np.ndarray) else value
        for name, value in values.items()
    }


def _remarks_are_sound(batch: Batch) -> None:
    """Each names a game, says something, and fits on a line."""
    read = set(batch.index.tolist())
    assert {remark.index for remark in batch.remarks} <= read
    cut = [remark.index for remark in batch.remarks if remark.kind == CUT_SHORT]
    assert cut == batch.index[batch.cut_ply >= 0].tolist()
    for remark in (*batch.rejects, *batch.remarks):
        assert 0 < len(remark.reason) < 300, remark.reason
        assert remark.reason.isprintable(), remark.reason


def _game_is_legal(batch: Batch, game: int) -> None:
    """Moves are legal, and the visits are the first arrivals at python-chess' positions."""
    board = chess.Board(batch.start_fen[game] or chess.STARTING_FEN)
    first, behind = batch.move_offsets[game], batch.move_offsets[game + 1]
    seen: dict[int, int] = {}
    for ply, packed in enumerate(batch.moves[first:behind].tolist()):
        if ply < PLIES:
            seen.setdefault(key_of(board), packed)
        move = chess.Move(packed % 64, packed // 64 % 64, packed // 4096 or None)
        assert move in board.legal_moves, f"{move} in {board.fen()}"
        board.push(move)
    if behind - first < PLIES and batch.cut_ply[game] < 0:
        seen.setdefault(key_of(board), 0)
    rows = batch.game == game
    found = list(zip(batch.key[rows].tolist(), batch.move[rows].tolist(), strict=True))
    assert found == list(seen.items()), "visits differ from a recount"


def _zipped(raw: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.pgn", raw)
        archive.writestr("b.pgn", raw[::-1])
    return stream.getvalue()


_PACKERS: dict[str, Callable[[bytes], bytes]] = {
    "pgn": bytes,
    "pgn.gz": gzip.compress,
    "pgn.bz2": bz2.compress,
    "pgn.xz": lzma.compress,
    "pgn.zst": lambda raw: pa.compress(raw, "zstd", asbytes=True),
    "zip": _zipped,
}


def _packed(random: Random, raw: bytes) -> Counter[str]:
    """Packed and then damaged, a file is read or refused in our words."""
    ending, packer = random.choice(list(_PACKERS.items()))
    read = refused = 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"a.{ending}"
        for packed in (packer(raw), damaged(random, packer(raw))):
            path.write_bytes(packed)
            try:
                for source in find_sources([str(path)]):
                    assert len(source.sha256()) == 64
                    for chunk in source.chunks():
                        read += len(chunk) > 0
            except InputError:
                refused += 1
    return Counter(packed_files=2, packed_refused=refused)


def _added(raw: bytes) -> Counter[str]:
    """A library takes the file, its counts add up, and it is found sound."""
    with tempfile.TemporaryDirectory() as folder:
        file, library = Path(folder) / "a.pgn", Path(folder) / "a.library"
        file.write_bytes(raw)
        (report,) = add_collection(library, [str(file)], "fuzz").files
        told = report.added + report.duplicates + report.rejected + report.left_out
        assert report.found == told, "the counts do not add up"
        games = sum(len(block.starts) for block in split([raw]))
        assert report.found == games or report.error, "the library counts other games"
        if not report.error:  # else no library was made
            assert verify(library).problems == ()
    return Counter(libraries=1, added=report.added, refused=report.error is not None)


def main() -> int:
    """Run cases until the time is over; counts on standard output."""
    minutes = float(sys.argv[1])
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else int(time.time())
    counts: Counter[str] = Counter()
    failures: list[int] = []
    slowest = (0.0, 0)
    began = time.monotonic()
    number = 0
    while time.monotonic() - began < minutes * 60 and len(failures) < MOST_FAILURES:
        case_began = time.process_time()
        try:
            counts += examine(seed, number)
        except Exception:
            failures.append(number)
            print(f"examine({seed}, {number}) fails:\n{traceback.format_exc(limit=-3)}", flush=True)
        slowest = max(slowest, (time.process_time() - case_began, number))
        number += 1
    print(f"seed {seed}, {(time.monotonic() - began) / 60:.1f} minutes")
    for name, count in counts.items():
        print(f"{name.replace('_', ' '):>20} {count:>10,}")
    print(f"{'failures':>20} {len(failures):>10,}")
    print(f"slowest case: number {slowest[1]}, {slowest[0]:.2f} s")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
