"""Whose names are shown: by default a student's initials and nobody else."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import groupby
from typing import Protocol

from explorer.query.filters import Filters
from explorer.query.model import GameRow, Source
from ingest.errors import UsageError
from ingest.tags import same_name

NAMES = ("initials", "full")
HIDDEN = "..."
TELLING = 3  # letters of a word that gives a name away by itself
# The letter of an option is no part of the name before it.
_WORD = re.compile(r"(?<=\s)-[a-z]\b|[^\W_]+")


def initials(name: str) -> str:
    """``Doe, Jane`` and ``Jane Doe`` -> ``J. D.``; a single word gives one letter."""
    family, comma, given = name.partition(",")
    words = re.findall(r"[^\W\d_]\w*", f"{given} {family}" if comma else name)
    return " ".join(f"{word[0].upper()}." for word in words)


class Answer(Protocol):
    """What every answer says of itself."""

    @property
    def filters(self) -> Filters:
        """Which games were asked about."""

    @property
    def source(self) -> Source:
        """Where they come from."""


@dataclass(frozen=True, slots=True)
class Veil:
    """What may be shown of names. ``names`` is "initials" or "full".

    ``student`` is the player whose own games are looked at, None when the
    question is about nobody in particular: then no name is shown at all.
    ``people`` are players after whom a collection is named. UsageError for
    another value of ``names``.
    """

    names: str = "initials"
    student: str | None = None
    people: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a word that is neither choice: a typing error must not show names."""
        if self.names not in NAMES:
            raise UsageError(f"--names {self.names}: no such choice; write initials or full")

    @classmethod
    def over(cls, answer: Answer, names: str) -> Veil:
        """The veil for an answer."""
        return cls(names, answer.filters.player, answer.source.people)

    def person(self, name: str | None) -> str | None:
        """A player's name as it may be shown; None when it may not be."""
        if name is None or self.names == "full":
            return name
        if self.student is not None and same_name(name) == same_name(self.student):
            return initials(name) or None
        return None

    def text(self, text: str) -> str:
        """A free text (a command, a collection's name) with students' names as initials."""
        if self.names == "full":
            return text
        for name in filter(None, (self.student, *self.people)):
            text = _without(text, name, initials(name) or HIDDEN)
        return text

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
    """The text with the name replaced, however it is spelled.

    A single word of the name counts as well if it is long enough to tell whose
    it is: events are called "Marsh - Quill".
    """
    parts = {same_name(word) for word in _WORD.findall(name)}
    kept, end = [], 0
    for own, run in groupby(_WORD.finditer(text), lambda word: same_name(word[0]) in parts):
        found = list(run)
        said = {same_name(word[0]) for word in found}
        if own and (said == parts or max(map(len, said)) >= TELLING):
            kept += [text[end : found[0].start()], instead]
            end = found[-1].end()
    return "".join(kept) + text[end:]
