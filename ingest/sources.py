"""What a person names -> the files in it, and their bytes unpacked, in bounded memory.

Files, folders (walked for PGN files, plain or packed), glob patterns, ``-`` for
standard input. How a file is packed is told by its first bytes, not by its name.
A file that cannot be used says so when it is read, so that the others go on.
"""

from __future__ import annotations

import glob
import os
import stat
import sys
import weakref
import zipfile
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from ingest.errors import InputError
from ingest.unpacking import (
    Readable,
    checked,
    file_errors,
    hashed,
    limited,
    pieces,
    spooled,
    unpacked,
)

STANDARD_INPUT = "-"
ENDINGS = (".pgn", ".pgn.gz", ".pgn.bz2", ".pgn.xz", ".pgn.zst", ".zip")


class Source(ABC):
    """One file of games. ``size`` is its packed size in bytes, None when unknown.

    ``bytes_done`` says how many of these have been read by ``chunks``. With
    ``any_size`` it may unpack to whatever it will.
    """

    def __init__(self, name: str, size: int | None) -> None:
        """Name a file; nothing is opened."""
        self.name, self.size = name, size
        self.bytes_done = 0
        self.any_size = False

    @abstractmethod
    def sha256(self) -> str:
        """The hash of the file as it lies there, by a pass of its own; 64 hex digits."""

    @abstractmethod
    def chunks(self) -> Iterator[bytes]:
        """The unpacked bytes, about a megabyte at a time.

        InputError for a file that is empty, binary, without games, damaged or
        too large when unpacked, TruncatedInput for one that is cut off.
        """


class _File(Source):
    """A file, packed or not, opened anew for each pass."""

    def __init__(self, path: str) -> None:
        super().__init__(path, None)
        with file_errors(path):
            self.size = os.stat(path).st_size

    def sha256(self) -> str:
        with self._open() as raw:
            return hashed(pieces(raw))

    def chunks(self) -> Iterator[bytes]:
        with self._open() as raw:
            stream = unpacked(self.name, raw)
            chunks = pieces(stream)
            if stream is not raw and not self.any_size:
                chunks = limited(self.name, chunks, raw.tell)
            for chunk in checked(self.name, chunks):
                self.bytes_done = raw.tell()
                yield chunk

    @contextmanager
    def _open(self) -> Iterator[BinaryIO]:
        with file_errors(self.name), open(self.name, "rb") as raw:
            yield raw


class _Stream(_File):
    """What can be read only once, such as a pipe. It is kept in a temporary file."""

    def __init__(self, name: str) -> None:
        Source.__init__(self, name, None)
        self._spool: BinaryIO | None = None

    @contextmanager
    def _open(self) -> Iterator[BinaryIO]:
        with file_errors(self.name):
            if self._spool is None:
                self._spool = self._copied()
                weakref.finalize(self, self._spool.close)
            self._spool.seek(0)
            yield self._spool

    def _copied(self) -> BinaryIO:
        with open(self.name, "rb") as stream:
            return spooled(stream)


class _StandardInput(_Stream):
    """What is piped into the command."""

    def __init__(self) -> None:
        super().__init__("standard input")

    def _copied(self) -> BinaryIO:
        return spooled(sys.stdin.buffer)


class _ZipMember(Source):
    """One PGN file in a zip archive."""

    def __init__(self, path: str, member: zipfile.ZipInfo) -> None:
        super().__init__(f"{path}/{member.filename}", member.compress_size)
        self._path, self._member = path, member

    def sha256(self) -> str:
        with self._open() as stream:
            return hashed(self._pieces(stream))

    def chunks(self) -> Iterator[bytes]:
        with self._open() as stream:
            unpacked_bytes = 0
            for chunk in self._pieces(stream):
                unpacked_bytes += len(chunk)
                packed = self._member.compress_size
                self.bytes_done = packed * unpacked_bytes // max(1, self._member.file_size)
                yield chunk

    def _pieces(self, stream: Readable) -> Iterator[bytes]:
        chunks = pieces(stream)
        if not self.any_size:
            chunks = limited(self.name, chunks, lambda: self._member.compress_size)
        return checked(self.name, chunks)

    @contextmanager
    def _open(self) -> Iterator[Readable]:
        if self._member.flag_bits & 1:
            raise InputError(f"{self.name}: locked with a password; unpack it and add the files")
        with (
            file_errors(self.name),
            zipfile.ZipFile(self._path) as archive,
            archive.open(self._member) as stream,
        ):
            yield stream


class _Unusable(Source):
    """A place that was found but cannot be read; says so when it is its turn."""

    def __init__(self, name: str, error: InputError) -> None:
        super().__init__(name, None)
        self._error = error

    def sha256(self) -> str:
        raise self._error

    def chunks(self) -> Iterator[bytes]:
        raise self._error


def find_sources(paths: Sequence[str], *, any_size: bool = False) -> list[Source]:
    """The files in what a person named, in the order named, folders in sorted order.

    ``any_size`` lifts the limits on what a packed file may unpack to.
    InputError when a path leads nowhere or to a folder or archive without PGN files.
    """
    if "" in paths:
        raise InputError("'': an empty name; name a file, a folder, or - for a pipe")
    found = [source for path in paths for source in _named(path)]
    for source in found:
        source.any_size = any_size
    return found


def _named(path: str) -> list[Source]:
    if path == STANDARD_INPUT:
        return [_StandardInput()]
    if not os.path.lexists(path):
        matches = sorted(glob.glob(path, recursive=True)) if glob.has_magic(path) else []
        if not matches:
            raise InputError(f"{path}: no such file or folder; look at the spelling")
        return [source for match in matches for source in _named(match)]
    found = list(_folder(path)) if os.path.isdir(path) else _file(path)
    if not found:
        kind = "folder" if os.path.isdir(path) else "archive"
        raise InputError(
            f"{path}: no PGN file in this {kind}; name one with files that end in .pgn"
        )
    return found


def _file(path: str) -> list[Source]:
    """A file -> itself, or its members if it is a zip archive."""
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            return [_Stream(path)]
        if not path.lower().endswith(".zip") or os.path.getsize(path) == 0:
            return [_File(path)]
        with file_errors(path), zipfile.ZipFile(path) as archive:
            members = sorted(archive.infolist(), key=lambda member: member.filename)
    except OSError:
        return [_File(path)] if os.path.exists(path) else _dangling(path)
    except InputError as error:
        return [_Unusable(path, error)]
    return [_ZipMember(path, m) for m in members if m.filename.lower().endswith(".pgn")]


def _dangling(path: str) -> list[Source]:
    return [_Unusable(path, InputError(f"{path}: a link that leads nowhere; mend or remove it"))]


def _folder(path: str) -> Iterator[Source]:
    """The PGN files in a folder and below; links are followed, each folder is entered once."""
    seen: set[tuple[int, int]] = set()
    refused: list[OSError] = []
    for here, folders, files in os.walk(path, followlinks=True, onerror=refused.append):
        place = os.stat(here)
        if (place.st_dev, place.st_ino) in seen:
            folders.clear()
            continue
        seen.add((place.st_dev, place.st_ino))
        folders.sort()
        for file in sorted(files):
            if file.lower().endswith(ENDINGS):
                yield from _file(str(Path(here) / file))
    yield from _refused(refused)


def _refused(errors: Iterable[OSError]) -> Iterator[Source]:
    for error in errors:
        try:
            with file_errors(str(error.filename)):
                raise error
        except InputError as ours:
            yield _Unusable(str(error.filename), ours)
