"""A file's bytes in any encoding -> valid UTF-8 whose lines end in a line feed.

PGN was defined for Latin-1 (4.1); files of today are UTF-8, some are Windows-1252
or UTF-16. Bytes that are no UTF-8 are read as Windows-1252 one by one, so that one
damaged byte, or an old file glued to a new one, never spoils the names elsewhere.
"""

from __future__ import annotations

import codecs
import re

BYTE_ORDER_MARK = codecs.BOM_UTF8
# With its mark, or by the first two characters where the mark is lost.
_UTF16 = {
    "utf-16": re.compile(rb"\xff\xfe|\xfe\xff"),
    "utf-16-le": re.compile(rb"[^\0]\0[^\0]\0"),
    "utf-16-be": re.compile(rb"\0[^\0]\0[^\0]"),
}
_BEGINNING = 4  # bytes
_AS_WINDOWS = "replybook-windows-1252"


def _as_windows(error: UnicodeError) -> tuple[str, int]:
    """Read what is no UTF-8 as Windows-1252, its five gaps as Latin-1."""
    if not isinstance(error, UnicodeDecodeError):
        raise error
    wrong = error.object[error.start : error.end]
    text = "".join(
        bytes([byte]).decode("latin-1" if byte in b"\x81\x8d\x8f\x90\x9d" else "cp1252")
        for byte in wrong
    )
    return text, error.end


codecs.register_error(_AS_WINDOWS, _as_windows)


class CleanText:
    """Takes a file's bytes piece by piece; the pieces given back do not depend on the cuts."""

    def __init__(self) -> None:
        """Start at the beginning of a file."""
        self._held = b""
        self._started = False
        self._utf16: codecs.IncrementalDecoder | None = None
        self._marked = False
        self._wide = False  # a character of several bytes was seen
        self._windows = False  # bytes were seen that are no UTF-8
        self._return_held = False

    @property
    def encoding(self) -> str:
        """What the file has been so far, in words for the ledger."""
        if self._utf16:
            return "UTF-16"
        if self._windows:
            return "UTF-8 and Windows-1252" if self._wide or self._marked else "Windows-1252"
        return "UTF-8 with byte-order mark" if self._marked else "UTF-8"

    def feed(self, data: bytes, *, final: bool = False) -> bytes:
        """The next bytes -> the next clean text; ``final`` with the last of them."""
        data = self._held + data if self._held else data
        self._held = b""
        if not self._started:
            if len(data) < _BEGINNING and not final:
                self._held = data
                return b""
            self._start(data)
        if self._utf16:
            return self._lines(self._utf16.decode(data, final).encode(), final)
        return self._lines(self._utf8(data, final), final)

    def _start(self, data: bytes) -> None:
        self._started = True
        for codec, mark in _UTF16.items():
            if mark.match(data):
                self._utf16 = codecs.getincrementaldecoder(codec)("replace")
                break
        self._marked = data.startswith(BYTE_ORDER_MARK)

    def _utf8(self, data: bytes, final: bool) -> bytes:
        if data.isascii():
            return data
        cut = len(data) - _unfinished(data)
        text, tail = self._valid(data[:cut]), data[cut:]
        if not final:
            self._held = tail
        elif tail:
            # The file is cut in the middle of a character, unless it never was UTF-8.
            text += tail.decode("utf-8", _AS_WINDOWS if self._windows else "replace").encode()
        return text

    def _valid(self, data: bytes) -> bytes:
        mark = BYTE_ORDER_MARK  # also stands in the middle of files that were glued together
        try:
            data.decode()
        except UnicodeDecodeError:
            self._windows = True
            utf8 = data.decode("utf-8", "ignore").encode().replace(mark, b"")
            self._wide = self._wide or not utf8.isascii()
            return data.decode("utf-8", _AS_WINDOWS).encode().replace(mark, b"")
        data = data.replace(mark, b"")
        self._wide = self._wide or not data.isascii()
        return data

    def _lines(self, text: bytes, final: bool) -> bytes:
        """CR LF and CR -> LF; a CR at the end waits for its LF."""
        if self._return_held:
            text = b"\r" + text
            self._return_held = False
        if b"\r" not in text:
            return text
        if text.endswith(b"\r") and not final:
            self._return_held = True
            text = text[:-1]
        return text.replace(b"\r\n", b"\n").replace(b"\r", b"\n")


def _unfinished(data: bytes) -> int:
    """How many bytes at the end begin a character that is not whole yet."""
    for back, byte in enumerate(reversed(data[-3:]), start=1):
        if byte < 0x80:
            return 0
        if byte >= 0xC0:
            length = 2 if byte < 0xE0 else 3 if byte < 0xF0 else 4
            return back if length > back else 0
    return 0
