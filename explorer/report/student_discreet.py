"""Whose names may stand on a student's page: the student's, as initials, and nobody else's."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from explorer.query.student_model import StudentAnswer
from explorer.report import words
from explorer.report.privacy import Veil, initials
from explorer.report.sheet import PageOptions
from ingest.tags import same_name

WHOLE_CLASS = "replybook class"


@dataclass(frozen=True, slots=True)
class Discreet:
    """What a page about one student may say. ``hidden`` are people who must not be told of."""

    veil: Veil
    name: str
    hidden: tuple[str, ...]

    @classmethod
    def over(cls, answer: StudentAnswer, names: str, others: Sequence[str] = ()) -> Discreet:
        """For an answer; ``others`` are further people, such as the rest of a class."""
        own = (answer.student, *answer.names, *answer.not_found)
        known = {same_name(name) for name in own}
        hidden = [name for name in (*answer.source.people, *others) if same_name(name) not in known]
        name = spoken(answer.student) if names == "full" else initials(answer.student)
        return cls(Veil(names, answer.student, own), name or "One student", tuple(hidden))

    def text(self, text: str) -> str:
        """A free text of the teacher's; empty where it tells of somebody else."""
        return words.clean(self.veil.text(text)) if self._tells_of_nobody(text) else ""

    def _tells_of_nobody(self, text: str) -> bool:
        return Veil("initials", None, self.hidden).text(text) == text

    def options(self, options: PageOptions) -> PageOptions:
        """The page's options without a command that tells of somebody else."""
        if self._tells_of_nobody(options.command):
            return options
        return replace(options, command=WHOLE_CLASS, words=())

    def collections(self, answer: StudentAnswer) -> str:
        """Where the games are from, as far as it may be told."""
        told = [self.text(name) for name in answer.source.collections]
        shown = [name for name in told if name]
        if len(shown) < len(told):
            shown.append(f"{words.count(len(told) - len(shown), 'other')} not named here")
        return ", ".join(shown) or "none"


def spoken(name: str) -> str:
    """``Doe, Jane`` -> ``Jane Doe``."""
    family, comma, given = name.partition(",")
    return words.clean(f"{given} {family}" if comma else name)


def told_apart(names: Sequence[str]) -> Iterator[str]:
    """Initials for each of a class; those that are alike get numbers: ``J. D. (2)``."""
    short = [initials(name) or "?" for name in names]
    for place, letters in enumerate(short):
        alike = short.count(letters) > 1
        yield f"{letters} ({short[: place + 1].count(letters)})" if alike else letters
