"""Whose names are shown: by default a student's initials and nobody else."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import permutations

from explorer.query.filters import Filters
from explorer.query.model import GameRow
from ingest.errors import UsageError
from ingest.tags import same_name

NAMES = ("initials", "full")
HIDDEN = "..."
MOST_WORDS = 4


def initials(name: str) -> str:
    """``Doe, Jane`` and ``Jane Doe`` -> ``J. D.``; a single word gives one letter."""
    family, comma, given = name.partition(",")
    words = re.findall(r"[^\W\d_]\w*", f"{given} {family}" if comma else name)
    return " ".join(f"{word[0].upper()}." for word in words)


@dataclass(frozen=True, slots=True)
class Veil:
    """What may be shown of names. ``names`` is "initials" or "full".

    ``student`` is the player whose own games are looked at, None when the
    question is about nobody in particular: then no name is shown at all.
    UsageError for another value of ``names``.
    """

    names: str = "initials"
    student: str | None = None

    def __post_init__(self) -> None:
        """Refuse a word that is neither choice: a typing error must not show names."""
        if self.names not in NAMES:
            raise UsageError(f"--names {self.names}: no such choice; write initials or full")

    @classmethod
    def over(cls, filters: Filters, names: str) -> Veil:
        """The veil for answers to a question with these filters."""
        return cls(names, filters.player)

    def person(self, name: str | None) -> str | None:
        """A player's name as it may be shown; None when it may not be."""
        if name is None or self.names == "full":
            return name
        if self.student is not None and same_name(name) == same_name(self.student):
            return initials(name) or None
        return None

    def text(self, text: str) -> str:
        """A free text (a command, a collection's name) with the student's name as initials."""
        if self.names == "full" or self.student is None:
            return text
        return _without(text, self.student, initials(self.student) or HIDDEN)

    def tag(self, text: str | None, row: GameRow) -> str | None:
        """A game's Event, Site or Round without its players; a web address, which names a
        game and so its players, is dropped."""
        if text is None or self.names == "full":
            return text
        if re.search(r"://|\bwww\.", text, re.IGNORECASE):
            return None
        for name in (row.white, row.black):
            if name is not None:
                text = _without(text, name, self.person(name) or HIDDEN)
        return self.text(text)


def _without(text: str, name: str, instead: str) -> str:
    """The text with the name, in any order of its words, replaced."""
    words = re.findall(r"\w+", name)[:MOST_WORDS]
    if not words:
        return text
    orders = (r"[\W_]{1,3}".join(map(re.escape, order)) for order in permutations(words))
    pattern = rf"(?<![^\W_])(?:{'|'.join(orders)})(?![^\W_])"
    return re.sub(pattern, lambda _: instead, text, flags=re.IGNORECASE)
