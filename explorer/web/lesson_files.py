"""The lesson files of one folder, and nothing beside it."""

from __future__ import annotations

import os
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import chess.pgn

from explorer.positions.lesson_file import read_games
from ingest.errors import InputError, NothingFound
from ingest.poskey import key_of

MOST_FILES = 300
MOST_LOOKED_AT = 5000  # names in the folder and those below it
KEPT = 500


@dataclass(frozen=True, slots=True)
class Listing:
    """The names of lesson files, from their folder with slashes, in order; whether there may be
    ``more`` of them, and how many are ``unnamed``: their names are no text."""

    names: list[str]
    more: bool
    unnamed: int


class LessonFiles:
    """The PGN files of a folder and the folders below it; None is no folder, with no files."""

    def __init__(self, folder: Path | None) -> None:
        """Looks at nothing yet."""
        self.folder = folder.resolve() if folder else None
        self._keys: OrderedDict[tuple[str, int, int], frozenset[int]] = OrderedDict()

    def listing(self) -> Listing:
        """The files, at most MOST_FILES of the first MOST_LOOKED_AT names."""
        found: list[str] = []
        unnamed, more = 0, False
        for looked_at, path in enumerate(self._walk()):
            if more := looked_at >= MOST_LOOKED_AT:
                break
            if path.suffix.lower() != ".pgn" or not self._is_inside(path):
                continue
            if more := len(found) >= MOST_FILES:
                break
            if _fits_an_address(name := self._named(path)):
                found.append(name)
            else:
                unnamed += 1
        return Listing(sorted(found, key=str.casefold), more, unnamed)

    def path(self, name: str) -> Path:
        """The file of this name. NothingFound unless it is a PGN file inside the folder, links
        followed."""
        try:
            path = self.folder / name if self.folder else None
            if path and path.suffix.lower() == ".pgn" and self._is_inside(path):
                return path
        except (OSError, ValueError):  # no name that this system knows
            pass
        raise NothingFound("there is no lesson file of that name in the folder of the lessons")

    def holds(self, name: str, key: int) -> bool:
        """Whether a position stands in a file, in any variation; no file that cannot be read
        holds any."""
        path = self.path(name)
        found = path.stat()
        looks = name, found.st_size, found.st_mtime_ns
        if looks not in self._keys:
            self._keys[looks] = frozenset(_keys_in(path))
            while len(self._keys) > KEPT:
                self._keys.popitem(last=False)
        return key in self._keys[looks]

    def _walk(self) -> Iterator[Path]:
        for folder, folders, files in os.walk(self.folder) if self.folder else ():
            folders.sort()
            yield from (Path(folder) / name for name in sorted(files))

    def _is_inside(self, path: Path) -> bool:
        """Whether a name leads to a file in the folder; a link may lead out of it."""
        real = path.resolve()
        return self.folder is not None and real.is_relative_to(self.folder) and real.is_file()

    def _named(self, path: Path) -> str:
        return path.relative_to(self.folder).as_posix() if self.folder else ""


def _fits_an_address(name: str) -> bool:
    """False for bytes that are no text: a disk may have been named in another encoding."""
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True


def _keys_in(path: Path) -> Iterator[int]:
    try:
        games = read_games(str(path))
    except InputError:
        return
    for game in games:
        nodes: list[chess.pgn.GameNode] = [game]
        while nodes:
            node = nodes.pop()
            yield key_of(node.board())
            nodes += node.variations
