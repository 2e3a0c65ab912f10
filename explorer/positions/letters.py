"""Piece letters of other languages, as typed and as printed."""

from __future__ import annotations

from ingest.errors import UsageError
from ingest.letters import ENGLISH, LETTERS, OTHERS, figurines_to_english

__all__ = [
    "ENGLISH",
    "LETTERS",
    "alphabets",
    "figurines_to_english",
    "letters_named",
    "localise",
]


def letters_named(text: str) -> str:
    """``de`` or ``German`` -> its six letters. UsageError for an unknown one."""
    word = text.strip().casefold()
    for code, (language, letters) in LETTERS.items():
        if word in (code, language.casefold()):
            return letters
    raise UsageError(f"--letters {text}: no such language; choose one of {', '.join(LETTERS)}")


def localise(san: str, letters: str) -> str:
    """An English SAN move with the piece letters of a language (code or name).

    ``Nf3`` -> ``Sf3``, ``exd8=Q+`` -> ``exd8=D+``; castling stays as it is.
    """
    return san.translate(str.maketrans(ENGLISH, letters_named(letters)))


def alphabets() -> list[str]:
    """The distinct sets of letters other than the English ones."""
    return sorted(OTHERS)
