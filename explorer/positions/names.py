"""Names of positions: looked up by key, and found as people spell them.

The table is `names.tsv` beside this file: our own, in the words of the trade.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import chess

from ingest.poskey import key_of

# Folded spellings of one word; "ue" and its like stand for the umlauts.
_SAME = (
    ("defens", "defenc"),
    ("center", "centre"),
    ("petroff", "petrov"),
    ("ae", "a"),
    ("oe", "o"),
    ("ue", "u"),
)


@dataclass(frozen=True, slots=True)
class Named:
    """A named position: ``line`` is the SAN line that the table gives for it."""

    name: str
    line: tuple[str, ...]
    key: int
    also: tuple[str, ...] = ()

    def spellings(self) -> list[str]:
        """Its folded names, the main one first."""
        return [fold(name) for name in (self.name, *self.also)]


@cache
def table() -> tuple[Named, ...]:
    """All named positions, in the order of the file."""
    text = files("explorer.positions").joinpath("names.tsv").read_text(encoding="utf-8")
    boards: dict[tuple[str, ...], chess.Board] = {(): chess.Board()}
    rows = []
    for row in text.splitlines():
        if not row.startswith("#"):
            name, moves, also = (*row.split("\t"), "")[:3]
            line = tuple(moves.split())
            names = tuple(filter(None, also.split(";")))
            rows.append(Named(name, line, key_of(_board(line, boards)), names))
    return tuple(rows)


def _board(line: tuple[str, ...], boards: dict[tuple[str, ...], chess.Board]) -> chess.Board:
    """The board after a line. Most lines begin like another one: each ply is played once."""
    if line not in boards:
        board = _board(line[:-1], boards).copy(stack=False)
        board.push_san(line[-1])
        boards[line] = board
    return boards[line]


@cache
def _by_key() -> dict[int, str]:
    return {named.key: named.name for named in table()}


def name_of_key(key: int) -> str | None:
    """The name of the position with this key, if it has one."""
    return _by_key().get(key)


def name_along(keys: Iterable[int]) -> str | None:
    """The name of the last named position among the keys of a line, in order."""
    names = [name for key in keys if (name := name_of_key(key))]
    return names[-1] if names else None


def fold(name: str) -> str:
    """The compared form of a name: no case, accents, punctuation or rival spellings."""
    plain = unicodedata.normalize("NFKD", name.casefold().replace("ø", "o"))
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    plain = re.sub(r"['’`´]", "", plain)
    for spelling, ours in _SAME:
        plain = plain.replace(spelling, ours)
    return " ".join(re.findall(r"\w+", plain))


def find_name(text: str) -> list[Named]:
    """The named positions that the text can mean: none, one, or the choices.

    An exact name beats a beginning of names, which beats words in names. Of
    several, one whose name begins all the others is meant: ``Sicilian`` is the
    Sicilian Defence, not each of its variations.
    """
    wanted = fold(text)
    if not wanted:
        return []
    for fits in (_is, _begins, _has_words):
        if found := [n for n in table() if any(fits(s, wanted) for s in n.spellings())]:
            head = _head(found)
            return [head] if head else found
    return []


def similar_names(text: str) -> list[str]:
    """Up to three names that begin almost like the text, the most alike first."""
    if not (wanted := fold(text)):
        return []
    longest_first = sorted(table(), key=lambda named: -len(named.line))
    starts = {s[: len(wanted)]: n.name for n in longest_first for s in n.spellings()}
    close = difflib.get_close_matches(wanted, sorted(starts), n=3, cutoff=0.7)
    return list(dict.fromkeys(starts[start] for start in close))


def _is(spelling: str, wanted: str) -> bool:
    return _squashed(spelling) == _squashed(wanted)


def _begins(spelling: str, wanted: str) -> bool:
    return _squashed(spelling).startswith(_squashed(wanted))


def _has_words(spelling: str, wanted: str) -> bool:
    """Every wanted word begins a word of the name."""
    words = spelling.split()
    return all(any(word.startswith(part) for word in words) for part in wanted.split())


def _squashed(spelling: str) -> str:
    """Without blanks, so that ``carokann`` is found too."""
    return spelling.replace(" ", "")


def _head(found: list[Named]) -> Named | None:
    """The one of which a spelling begins one of each other's, if there is such a one."""
    spellings = [named.spellings() for named in found]
    for named, own in zip(found, spellings, strict=True):
        for start in own:
            if all(any(other.startswith(start) for other in others) for others in spellings):
                return named
    return None
