"""Answers as plain tables. What a cell says is decided here, how it is written in `formats`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

from explorer.positions.position import first_ply
from explorer.query.model import (
    OrdersAnswer,
    RepliesAnswer,
    Reply,
    ReplyLevel,
)
from explorer.report import grouped, sentences, words
from explorer.report.privacy import Veil


class Span(NamedTuple):
    """An interval; a table file gets its two ends in columns of their own."""

    low: float | None
    high: float | None


class LevelShare(NamedTuple):
    """A share at one level. ``at_most`` is the upper limit of one that was not seen."""

    share: float | None
    at_most: float | None
    few: bool


class Few(NamedTuple):
    """A number that rests on too few games or players to claim anything."""

    value: float | None


class InKind(NamedTuple):
    """A cell of another kind than its column's: a mean among shares."""

    kind: str
    cell: float | Span | LevelShare | Few | None


BETWEEN = " between"  # the end of an interval's head

Cell: TypeAlias = str | int | float | Span | LevelShare | Few | InKind | None


@dataclass(frozen=True, slots=True)
class Column:
    """A column's head and kind.

    ``kind`` says what its floats are: "share" (of 1, read in per cent), "in 100" (the
    same without the sign), "points" (a difference, in 100), "score",
    "signed", "pawns", "pieces", "signed pieces" or "rating"; counts are "count". Text is
    "text"; "moves" is text that may be broken into lines. On paper and screen a new ``group``
    starts a new block.
    ``data_only`` columns are for table files. There ``file_head`` is the head, where
    the group's title does not stand above it.
    """

    head: str
    kind: str = "text"
    group: str = ""
    data_only: bool = False
    file_head: str = ""

    @property
    def spans(self) -> bool:
        """Whether the cells are intervals."""
        return self.head.endswith(BETWEEN)


@dataclass(frozen=True, slots=True)
class Table:
    """A title, sentences that lead in, columns, rows, and notes.

    ``foot`` rows close the table for a reader; a table file leaves them out.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[str, ...] = ()
    lead: tuple[str, ...] = ()
    foot: tuple[tuple[Cell, ...], ...] = ()


def plain_table(
    title: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[str | int | None]],
    notes: Sequence[str] = (),
) -> Table:
    """A table of texts and counts, for lists such as collections and rejected games."""
    cells = [tuple(row) for row in rows]
    kinds = [
        "moves" if any(isinstance(row[i], str) for row in cells) else "count"
        for i in range(len(heads))
    ]
    columns = tuple(Column(head, kind) for head, kind in zip(heads, kinds, strict=True))
    return Table(title, columns, tuple(cells), tuple(notes))


# head, kind, field of Reply: always shown
_MAIN = (
    ("Games", "count", "games"),
    ("Players", "count", "players"),
    ("Score", "score", "score"),
    ("Against expectation", "signed", "over_expected"),
    ("Rated games", "count", "over_expected_games"),
)
# the rest of the columns; two fields are the ends of an interval
_REST = (
    ("Wins", "count", "wins"),
    ("Draws", "count", "draws"),
    ("Losses", "count", "losses"),
    ("Score between", "score", "score_low", "score_high"),
    ("Expected", "score", "expected"),
    ("Against expectation between", "signed", "over_expected_low", "over_expected_high"),
    ("Performance", "rating", "performance"),
    ("Mean rating", "rating", "mean_rating"),
    ("Mean opponent", "rating", "mean_opponent"),
    ("Swing in pawns", "pawns", "swing"),
    ("Games with swing", "count", "swing_games"),
    ("Mated soon", "count", "mated"),
    ("Most by one player", "count", "top_player_games"),
    ("Leads to", "text", "name"),
)
_MORE = "More about each reply"


def replies_table(
    answer: RepliesAnswer,
    columns: str = "main",
    letters: str | None = None,
    names: str = "initials",
) -> Table:
    """The replies, most frequent first, and their shares by level or whatever was asked.

    ``columns`` is "main" or "all"; a table file has them all either way.
    """
    shown = columns == "all"
    veil = Veil.over(answer, names)
    answer = grouped.named(answer, veil)
    return Table(
        title=position_title(answer.position.line, answer.position.name, letters),
        lead=(
            f"{sentences.to_move(answer.position)}. {sentences.reached(answer)}.",
            words.filter_sentence(answer.filters, veil),
        ),
        columns=tuple(_reply_columns(answer, shown)),
        rows=tuple(tuple(_reply_cells(reply, letters)) for reply in answer.replies),
        foot=(_level_games(answer),) if answer.replies else (),
        notes=tuple(_reply_notes(answer, veil, letters, shown)),
    )


def position_title(line: str | None, name: str | None, letters: str | None = None) -> str:
    """``1. e4 e5 2. Nf3 - King's Knight Opening``."""
    if line == "":
        where = "The starting position"
    else:
        where = words.spelled(line, letters) if line else "The position"
    return f"{where} - {words.clean(name)}" if name else where


def _reply_columns(answer: RepliesAnswer, shown: bool) -> Iterator[Column]:
    yield Column("Reply")
    yield Column("Share", "share")
    yield Column("Share between", "share")
    for head, kind, _ in _MAIN:
        yield Column(head, kind)
    told, by = grouped.shown(answer), grouped.wording(answer)
    levels = [(level.label, i not in told) for i, level in enumerate(grouped.axis(answer))]
    for label, hidden in levels:
        yield Column(label, "share", by.title, data_only=hidden)
    for head, kind, *_ in _REST:
        yield Column(head, kind, _MORE, data_only=not shown)
    for label, hidden in levels:
        yield Column(f"{label}: games", "count", by.games, data_only=hidden or not shown)
        yield Column(f"{label}: of", "count", by.games, data_only=True)
    for label, hidden in levels:
        yield Column(f"{label}: score", "score", by.scores, data_only=hidden or not shown)


def _reply_cells(reply: Reply, letters: str | None) -> Iterator[Cell]:
    yield words.spelled(reply.san, letters) + (sentences.FEW_SIGN if reply.few else "")
    yield reply.share
    yield Span(reply.share_low, reply.share_high)
    for _, _, field in _MAIN:
        yield getattr(reply, field)
    for level in reply.levels:
        yield _level_share(level)
    for _, _, field, *other in _REST:
        value = getattr(reply, field)
        yield Span(value, getattr(reply, other[0])) if other else value
    for level in reply.levels:
        yield level.games
        yield level.of
    for level in reply.levels:
        yield level.score


def _level_share(level: ReplyLevel) -> Cell:
    at_most = level.share_high if sentences.not_seen(level) else None
    return LevelShare(level.share, at_most, level.of > 0 and level.few)


def _level_games(answer: RepliesAnswer) -> tuple[Cell, ...]:
    """The closing row: how many games went on, in all and at each level."""
    before = 3 + len(_MAIN)
    first = answer.replies[0]
    after = len(_REST) + 3 * len(first.levels)
    start: list[Cell] = ["games", *[""] * (before - 1)]
    start[3] = answer.went_on
    return (*start, *(level.of for level in first.levels), *[""] * after)


def _reply_notes(
    answer: RepliesAnswer, veil: Veil, letters: str | None, shown: bool
) -> Iterator[str]:
    few = [reply.few for reply in answer.replies]
    few += [
        c.few
        for r in answer.replies
        for c in map(_level_share, r.levels)
        if isinstance(c, LevelShare)
    ]
    if any(few):
        yield sentences.FEW_NOTE
    if any(sentences.not_seen(level) for reply in answer.replies for level in reply.levels):
        yield grouped.wording(answer).unseen
    for reply in answer.replies:
        if said := sentences.one_player(reply):
            yield f"{words.spelled(reply.san, letters)}: {said}."
    yield from grouped.trends(answer, letters)
    yield from grouped.notes(answer)
    yield from sentences.records(answer)
    yield from sentences.transpositions(answer, letters)
    yield from sentences.origin(answer.source, veil)
    if answer.replies:
        yield sentences.METHOD
        yield from grouped.trend_test([answer])
        if shown:
            yield sentences.SWING
        yield sentences.expectation(answer.source)


def orders_table(
    answer: OrdersAnswer, letters: str | None = None, names: str = "initials"
) -> Table:
    """The move orders, commonest first, and where each leaves the commonest."""
    veil = Veil.over(answer, names)
    left_out = sentences.orders_left_out(answer)
    return Table(
        title=position_title(answer.position.line, answer.position.name, letters),
        lead=(
            f"Move orders of {_all_games(answer.games)} that reached this position.",
            words.filter_sentence(answer.filters, veil),
        ),
        columns=(
            Column("Move order", "moves"),
            Column("Games", "count"),
            Column("Share", "share"),
            Column("Parts at move"),
        ),
        rows=tuple(
            (
                words.spelled(order.line, letters) or "the position itself",
                order.games,
                order.share,
                parting(order.parts_at, order.start_fen),
            )
            for order in answer.orders
        ),
        notes=(*filter(None, [left_out]), *sentences.origin(answer.source, veil)),
    )


def _all_games(games: int) -> str:
    return "the only game" if games == 1 else f"the {games:,} games"


def parting(ply: int | None, start_fen: str | None = None) -> str:
    """Where a move order leaves the commonest one: ``2 (White)``."""
    if ply is None:
        return ""
    number, black = divmod(first_ply(start_fen) + ply, 2)
    return f"{number + 1} ({'Black' if black else 'White'})"
