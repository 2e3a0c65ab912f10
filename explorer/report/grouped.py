"""What replies are broken down by, in words: heads, notes, trends, places on the strip."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple, TypeAlias, TypeVar

from explorer.query.model import LevelCount, RepliesAnswer, Reply, ReplyLevel
from explorer.report import words
from explorer.report.mistake_words import p_value
from explorer.report.privacy import Veil
from ingest.levels import Level, bands

BANDED = ("level", "opponents")
YEARLY = ("year", "season")
UNORDERED = ("pace", "collection")
Labelled = TypeVar("Labelled", LevelCount, ReplyLevel)


class Wording(NamedTuple):
    """``head`` is a table's, ``title`` that of its shares, ``caption`` says the same of a page's.

    ``strip`` and ``dot`` lead in the strip and explain it, ``axis`` is what stands on its
    horizontal axis. ``within`` goes before a group's name ("in 9 games of 2024").
    """

    head: str
    title: str
    caption: str
    strip: str
    dot: str
    axis: str
    many: str
    within: str = "of"

    @property
    def scores(self) -> str:
        """The title of the scores."""
        return self.title.split(",")[0].replace("Share", "Score")

    @property
    def games(self) -> str:
        """The title of the games."""
        return self.title.split(",")[0].replace("Share", "Games of each reply")

    @property
    def unseen(self) -> str:
        """What "<" means among the shares."""
        return f'Among the {self.many} "<" means: not seen there; at most that many in 100.'


def _by(one: str, many: str) -> Wording:
    return Wording(
        head=one.capitalize(),
        title=f"Share by {one}, in 100 games of that {one}",
        caption=f"The most common replies, in 100 games of each {one}",
        strip=f"What is played, {one} by {one}",
        dot=f"of one {one}",
        axis=one,
        many=many,
    )


WORDINGS = {
    "level": Wording(
        head="Level",
        title="Share at each level, in 100 games of that level",
        caption="The most common replies, in 100 games of each level",
        strip="Who plays what, level by level",
        dot="at one level, low ratings on the left",
        axis="level of the player to move",
        many="levels",
    ),
    "year": _by("year", "years"),
    "season": _by("season", "seasons"),
    "pace": _by("pace", "paces"),
    "collection": _by("collection", "collections"),
    "opponents": Wording(
        head="Opponents",
        title="Share by the opponents' level, in 100 games against that level",
        caption="The most common replies, in 100 games against each level of opponents",
        strip="What is played against whom",
        dot="against opponents of one level, low ratings on the left",
        axis="level of the opponent",
        many="levels of opponents",
        within="against",
    ),
}


def wording(answer: RepliesAnswer) -> Wording:
    """The words for an answer's breakdown."""
    return WORDINGS[answer.filters.by]


class Step(NamedTuple):
    """A place on the strip that is no band of ratings; not ``rated``: apart from the others."""

    label: str
    rated: bool
    low: None = None
    high: None = None


Axis: TypeAlias = Sequence[Level | Step]


def axis(answer: RepliesAnswer) -> Axis:
    """The groups of a table's columns, in its order."""
    if answer.filters.by in BANDED:
        return bands(answer.filters.cuts)
    return tuple(Step(level.label, not level.apart) for level in answer.levels)


def shown(answer: RepliesAnswer) -> tuple[int, ...]:
    """The numbers of the groups that a reader is shown; table files keep them all.

    With a filter on the same levels only those that somebody is in. Years begin with the
    first that has enough games to say something, if there is one.
    """
    filters = answer.filters
    chosen = {"level": filters.levels, "opponents": filters.opponents}.get(filters.by, ())
    first = _first_year(answer) if filters.by in YEARLY else 0
    return tuple(
        i for i, level in enumerate(answer.levels) if i >= first and (level.games or not chosen)
    )


def _first_year(answer: RepliesAnswer) -> int:
    levels = answer.replies[0].levels if answer.replies else ()
    return next((i for i, level in enumerate(levels) if not level.few), 0)


def named(answer: RepliesAnswer, veil: Veil) -> RepliesAnswer:
    """The answer with names of collections as the veil lets them through."""
    if answer.filters.by != "collection":
        return answer
    labels = [words.clean(veil.text(level.label)) for level in answer.levels]
    return replace(
        answer,
        levels=_labelled(answer.levels, labels),
        replies=tuple(
            replace(reply, levels=_labelled(reply.levels, labels)) for reply in answer.replies
        ),
    )


def _labelled(groups: Sequence[Labelled], labels: Sequence[str]) -> tuple[Labelled, ...]:
    return tuple(replace(group, label=name) for group, name in zip(groups, labels, strict=True))


def notes(answer: RepliesAnswer) -> Iterator[str]:
    """What one must know of the groups."""
    by = answer.filters.by
    if by == "season":
        yield "A season runs from July to June."
    if by in YEARLY and (first := _first_year(answer)):
        games = words.count(sum(level.games for level in answer.levels[:first]), "game")
        counted = "is counted but not shown" if games == "1 game" else "are counted but not shown"
        label = answer.levels[first].label
        yield f"{games} before {label} {counted} by {by}: too few to say."
    if by in YEARLY and any(level.apart for level in answer.levels):
        part = "year" if by == "year" else "month"
        yield f"Unknown {by}: games whose date has no {part}."
    if by == "collection":
        yield "A game in two collections counts in both: collections need not add up to the whole."


_TRENDS = {
    ("level", "fades"): "fades with strength",
    ("level", "grows"): "grows with strength",
    ("year", "fades"): "became less common over the years",
    ("year", "grows"): "became more common over the years",
    ("season", "fades"): "became less common over the seasons",
    ("season", "grows"): "became more common over the seasons",
}


_IN_OTHER_WORDS = {
    "fades with strength": ": the stronger the players, the rarer it is",
    "grows with strength": ": the stronger the players, the more often they play it",
}
_TEST = (
    "Trends: Cochran-Armitage test over the {groups} with enough games{scores}, two-sided, "
    "clustered by player, p adjusted for all replies tested (Benjamini-Hochberg); said "
    "only where the last differs from the first the same way."
)


def trend(reply: Reply, by: str) -> str | None:
    """``fades with strength``; None where no trend is sure, or one player made most of it."""
    if reply.trend is None or reply.few or reply.one_player:
        return None
    return _TRENDS.get((by, reply.trend.direction))


def trend_sentence(reply: Reply, by: str) -> str | None:
    """``It fades with strength: the stronger the players, the rarer it is.``"""
    said = trend(reply, by)
    return f"It {said}{_IN_OTHER_WORDS.get(said, '')}." if said else None


def trends(answer: RepliesAnswer, letters: str | None = None) -> Iterator[str]:
    """The replies with a trend, one note for each direction."""
    by = answer.filters.by
    for said in (said for (of, _), said in _TRENDS.items() if of == by):
        moves = [
            f"{words.spelled(reply.san, letters)} ({p_value(reply.trend.p)})"
            for reply in answer.replies
            if trend(reply, by) == said and reply.trend and reply.trend.p is not None
        ]
        if moves:
            yield f"{said.capitalize()}: {words.listed(moves)}."


def trend_test(answers: Sequence[RepliesAnswer]) -> Iterator[str]:
    """The test behind the trends, if there are any."""
    by = answers[0].filters.by
    if any(trend(reply, by) for answer in answers for reply in answer.replies):
        scores = ", mean ratings as scores" if by == "level" else ""
        yield _TEST.format(groups=WORDINGS[by].many, scores=scores)
