"""The letters that name the pieces, language by language.

The table is that of the PGN standard, section 8.2.3.2 (from memory), which
gives for each language the letters of pawn, knight, bishop, rook, queen, king.
"""

from __future__ import annotations

import re

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
CASTLING = re.compile(r"[O0o]-[O0o](-[O0o])?[+#]*")
_CAPITAL = re.compile("[A-Z]")
_FIRST_TRIED = ("de", "fr", "es", "it", "nl")


def figurines_to_english(text: str) -> str:
    """``♘f3`` -> ``Nf3``; other characters stay."""
    return text.translate(_FIGURINES)


def _in_order() -> dict[str, str]:
    """Sets of letters other than the English ones -> the languages that have them, in words."""
    languages: dict[str, list[str]] = {}
    for code in (*_FIRST_TRIED, *LETTERS):
        language, letters = LETTERS[code]
        if letters != ENGLISH and language not in languages.setdefault(letters, []):
            languages[letters].append(language)
    return {
        letters: names[0] + (f" (or {', '.join(names[1:])})" if names[1:] else "")
        for letters, names in languages.items()
    }


OTHERS = _in_order()
"""Letters in the order of ENGLISH -> "German (or Danish, Norwegian, Swedish)".

In the order in which a game that is not in English letters is tried.
"""


def in_english(word: str, letters: str) -> str | None:
    """A move in a language's letters -> in English ones; None if it has any other letter.

    With the German letters ``Sf3`` -> ``Nf3``, but ``Nf3`` -> None. Nobody writes the
    pawn's letter, and in another language it names a piece: ``Pf3`` is a Dutch knight.
    """
    if CASTLING.fullmatch(word):
        return word
    if not capitals(word) <= set(letters[1:]):
        return None
    return word.translate(str.maketrans(letters, ENGLISH))


def capitals(word: str) -> set[str]:
    """The capital letters of a move, which name pieces; none of castling."""
    return set() if CASTLING.fullmatch(word) else set(_CAPITAL.findall(word))
