"""Piece letters of other languages, as typed and as printed.

The table is that of the PGN standard, section 8.2.3.2 (from memory), which
gives for each language the letters of pawn, knight, bishop, rook, queen, king.
"""

from __future__ import annotations

from ingest.errors import UsageError

ENGLISH = "PNBRQK"

# code -> (language, letters in the order of ENGLISH)
LETTERS: dict[str, tuple[str, str]] = {
    "cs": ("Czech", "PJSVDK"),
    "da": ("Danish", "BSLTDK"),
    "nl": ("Dutch", "OPLTDK"),
    "en": ("English", ENGLISH),
    "et": ("Estonian", "PROVLK"),
    "fi": ("Finnish", "PRLTDK"),
    "fr": ("French", "PCFTDR"),
    "de": ("German", "BSLTDK"),
    "hu": ("Hungarian", "GHFBVK"),
    "is": ("Icelandic", "PRBHDK"),
    "it": ("Italian", "PCATDR"),
    "no": ("Norwegian", "BSLTDK"),
    "pl": ("Polish", "PSGWHK"),
    "pt": ("Portuguese", "PCBTDR"),
    "ro": ("Romanian", "PCNTDR"),
    "es": ("Spanish", "PCATDR"),
    "sv": ("Swedish", "BSLTDK"),
}

_FIGURINES = str.maketrans("♙♘♗♖♕♔♟♞♝♜♛♚", ENGLISH * 2)


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


def figurines_to_english(text: str) -> str:
    """``♘f3`` -> ``Nf3``; other characters stay."""
    return text.translate(_FIGURINES)


def alphabets() -> list[str]:
    """The distinct sets of letters other than the English ones."""
    return sorted({letters for _, letters in LETTERS.values()} - {ENGLISH})
