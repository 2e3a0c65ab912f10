"""The games to measure with: real ones from a folder, else the sample games; when
there are too few, the same again with changed players' names."""

from __future__ import annotations

import itertools
import random
import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import numpy as np

from explorer.cli.place import sample_games
from ingest.errors import InputError
from ingest.sources import find_sources
from ingest.splitter import split

PIECE = 1_000  # games that stay together, so that a part has the shape of the whole
_NAMES = re.compile(rb'^(\[(?:White|Black) "[^"\n]*)', re.MULTILINE)


def game_texts(folder: str | None, games: int) -> list[bytes]:
    """The first so many game texts."""
    found = list(itertools.islice(_from(folder), games))
    rounds = range(1, 2 + games // len(found))
    return [marked(text, number) for number in rounds for text in found][:games]


def _from(folder: str | None) -> Iterator[bytes]:
    for source in find_sources([folder or str(Path(sample_games()))]):
        with suppress(InputError):  # damaged files, for other tests
            for block in split(source.chunks()):
                for start, end in zip(block.starts.tolist(), block.ends.tolist(), strict=True):
                    yield block.text[start:end].strip() + b"\n\n"


def marked(text: bytes, number: int) -> bytes:
    """The same games between other players: a number behind each name."""
    return _NAMES.sub(rb"\1 %d" % number, text) if number > 1 else text


class Pool:
    """An endless row of games; it lies in a file, so that it takes no memory here."""

    def __init__(self, folder: str | None, path: Path) -> None:
        """Copy the folder's games to a file."""
        self._path = path
        with path.open("wb") as file:
            lengths = [file.write(text) for text in _from(folder)]
        self.games = len(lengths)
        self._bounds = np.concatenate(([0], np.cumsum(lengths))).tolist()
        self._pieces = list(range(0, self.games, PIECE))
        random.Random(1).shuffle(self._pieces)

    def texts(self, games: int) -> list[bytes]:
        """The first games of the row, one by one."""
        with self._path.open("rb") as file:
            return [
                marked(self._read(file, game, game + 1), number)
                for first, behind, number in self._stretches(0, games)
                for game in range(first, behind)
            ]

    def write(self, path: Path, skip: int, games: int) -> None:
        """Write a part of the row to a PGN file."""
        with self._path.open("rb") as file, path.open("wb") as out:
            for first, behind, number in self._stretches(skip, games):
                out.write(marked(self._read(file, first, behind), number))

    def _read(self, file, first: int, behind: int) -> bytes:
        file.seek(self._bounds[first])
        return file.read(self._bounds[behind] - self._bounds[first])

    def _stretches(self, skip: int, games: int) -> Iterator[tuple[int, int, int]]:
        """(first game, game behind the last, round) of the stretches that make up a part."""
        for number in itertools.count(1):
            for piece in self._pieces:
                first, behind = piece + skip, min(piece + PIECE, self.games)
                skip = max(first - behind, 0)
                if first < behind:
                    behind = min(behind, first + games)
                    games -= behind - first
                    yield first, behind, number
                if not games:
                    return
