"""Packed bytes -> plain bytes, with limits, and every driver's errors in our words."""

from __future__ import annotations

import errno
import hashlib
import lzma
import re
import shutil
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import BinaryIO, Protocol

import pyarrow as pa

from ingest.errors import InputError, TruncatedInput

CHUNK_BYTES = 1 << 20
UNPACK_LIMIT = 256 << 30
"""Bytes that one packed file may unpack to, unless any size is allowed."""
RATIO_LIMIT = 200
"""How many times its packed size a file may unpack to, unless any size is allowed.

PGN text stays below 20.
"""
RATIO_FROM = 64 << 20
"""Bytes below which the ratio is not looked at."""

# First bytes, as the formats define them (RFC 1952, RFC 8878, the formats' own documents).
_PACKED = {
    b"\x1f\x8b": "gzip",
    b"BZh": "bz2",
    b"\x28\xb5\x2f\xfd": "zstd",
    b"\xfd7zXZ\0": "xz",
    b"PK\x03\x04": "zip",
}
_SKIPPABLE_FRAME = re.compile(rb"[\x50-\x5f]\x2a\x4d\x18")  # may open a zstd file
_TAR_MARK = slice(257, 262)

_TAG = re.compile(rb'\[\s{0,9}[A-Za-z][^"\[\]\n]{0,99}"')
_MOVES = re.compile(
    rb"(?:^|[\s.(])(?:[A-Z]?[a-h]?[1-8]?x?[a-h][1-8]|[O0]-[O0])(?!\w)"
    rb"|(?:^|\s)(?:1-0|0-1|1/2-1/2|\*)(?:\s|$)"
)
_UTF16 = re.compile(rb"\xff\xfe|\xfe\xff|[^\0]\0[^\0]\0|\0[^\0]\0[^\0]")
_NO_TEXT = bytes(byte for byte in range(32) if byte not in b"\t\n\v\f\r\x1a")


class Readable(Protocol):
    """Anything that bytes can be read from."""

    def read(self, size: int, /) -> bytes:
        """At most that many of the next bytes, none at the end."""


_TROUBLE = (
    EOFError,
    OSError,
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    NotImplementedError,  # zipfile: a way of packing that it has not
    UnicodeDecodeError,  # zipfile: the name of a member
)


@contextmanager
def file_errors(name: str) -> Iterator[None]:
    """Turn what files and unpackers raise into InputError and TruncatedInput."""
    try:
        yield
    except _TROUBLE as error:
        raise _in_our_words(name, error) from error


def _in_our_words(name: str, error: Exception) -> InputError:
    if isinstance(error, EOFError) or "Truncated" in str(error):
        return TruncatedInput(f"{name}: cut off before its end; get the file again")
    if isinstance(error, FileNotFoundError):
        return InputError(f"{name}: no such file or folder; look at the spelling")
    if isinstance(error, PermissionError):
        return InputError(f"{name}: may not be read; change its permissions or copy it")
    if isinstance(error, NotImplementedError):
        return InputError(f"{name}: packed in a way unknown here; unpack it and add the files")
    # A damaged archive sends the reader to places that no file has.
    if isinstance(error, OSError) and error.errno not in (None, errno.EINVAL):
        return InputError(f"{name}: cannot be read ({error.strerror}); try a copy of it")
    return InputError(f"{name}: damaged, cannot be unpacked; get the file again")


def unpacked(name: str, raw: BinaryIO) -> Readable:
    """A file open at its beginning -> a stream of its plain bytes."""
    head = raw.read(512)
    raw.seek(0)
    packed = next((way for mark, way in _PACKED.items() if head.startswith(mark)), None)
    if _SKIPPABLE_FRAME.match(head):
        packed = "zstd"
    if packed == "zip":
        raise InputError(f"{name}: a zip archive without .zip in its name; rename it and add that")
    if packed == "xz":
        return lzma.LZMAFile(raw)
    if packed:
        stream: Readable = pa.CompressedInputStream(pa.PythonFile(raw, "r"), packed)
        return stream
    return raw


def pieces(stream: Readable) -> Iterator[bytes]:
    """A stream's bytes, CHUNK_BYTES at a time."""
    while piece := stream.read(CHUNK_BYTES):
        yield piece


def hashed(chunks: Iterable[bytes]) -> str:
    """The SHA-256 of what the chunks hold together, 64 hex digits."""
    digest = hashlib.sha256()
    for chunk in chunks:
        digest.update(chunk)
    return digest.hexdigest()


def spooled(stream: BinaryIO) -> BinaryIO:
    """A copy of a stream in a temporary file that vanishes when the caller closes it."""
    spool: BinaryIO = tempfile.TemporaryFile()  # noqa: SIM115
    shutil.copyfileobj(stream, spool, CHUNK_BYTES)
    return spool


def checked(name: str, chunks: Iterator[bytes]) -> Iterator[bytes]:
    """Hand chunks on; InputError for a beginning that shows that this is no file of games."""
    begun = False
    for chunk in chunks:
        if not begun:
            _judge_beginning(name, chunk)
        begun = True
        yield chunk
    if not begun:
        raise InputError(f"{name}: empty; there is nothing to add")


def limited(name: str, chunks: Iterator[bytes], packed_bytes: Callable[[], int]) -> Iterator[bytes]:
    """Hand unpacked chunks on; InputError when they are too many, as of a file made to harm."""
    unpacked_bytes = 0
    for chunk in chunks:
        unpacked_bytes += len(chunk)
        if unpacked_bytes > UNPACK_LIMIT:
            much = f"{UNPACK_LIMIT >> 30} GiB"
        elif unpacked_bytes > max(RATIO_FROM, RATIO_LIMIT * packed_bytes()):
            much = f"{RATIO_LIMIT} times its size, as no games do"
        else:
            yield chunk
            continue
        raise InputError(f"{name}: unpacks to more than {much}; if you trust it, add --any-size")


def _judge_beginning(name: str, chunk: bytes) -> None:
    """InputError unless a file's first chunk may be the beginning of a PGN file."""
    if chunk[_TAR_MARK] == b"ustar":
        raise InputError(f"{name}: a tar archive; unpack it and add the folder")
    if _UTF16.match(chunk):
        chunk = chunk.replace(b"\0", b"")
    if not chunk.strip(b" \t\r\n\xef\xbb\xbf\xff\xfe"):
        if len(chunk) < CHUNK_BYTES:
            raise InputError(f"{name}: empty but for blanks; there is nothing to add")
        return
    if _TAG.search(chunk):
        return
    if 100 * (len(chunk) - len(chunk.translate(None, _NO_TEXT))) > len(chunk):
        raise InputError(f"{name}: a binary file, not PGN; name a file of games")
    if not _MOVES.search(chunk):
        raise InputError(f"{name}: a text without a game in it; name a PGN file")
