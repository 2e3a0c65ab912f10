"""What a page shows of one answer, as plain values that the templates only set."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import chess

from explorer.positions.position import numbered
from explorer.query.model import (
    FEW_GAMES,
    GameRow,
    GamesAnswer,
    OrdersAnswer,
    PositionFacts,
    RepliesAnswer,
    Reply,
)
from explorer.report import grouped, sentences, tables, words
from explorer.report.bar import Links
from explorer.report.diagram import Marks, diagram
from explorer.report.formats import cell_text
from explorer.report.games_table import RESULTS
from explorer.report.palette import INK, MUTED, OCHRE, PLUM
from explorer.report.privacy import Veil
from explorer.report.strip import panel, score_line

MOST_CARDS = 8
ALWAYS_CARDS = 3
MOST_COLUMNS = 6
MOST_MOVES = 20
VERDICTS = {
    "better": ("better", OCHRE),
    "worse": ("worse", PLUM),
    "as expected": ("about as expected", INK),
    "no clear difference": ("no clear difference", INK),
    "too few to say": ("too few to say", MUTED),
}


@dataclass(frozen=True, slots=True)
class Look:
    """How the reader wants positions shown: side at the bottom, piece letters; where links lead."""

    view: str = "white"
    letters: str | None = None
    links: Links | None = None


@dataclass(frozen=True, slots=True)
class Card:
    """One reply: drawings are SVG, the rest text; what is not known is empty."""

    move: str
    name: str
    drawing: str
    panel: str
    few: bool
    sentence: str
    share: str
    share_between: str
    counts: str
    score: str
    score_between: str
    line: str
    swing: str
    against: str
    verdict: str
    verdict_kind: str
    remarks: tuple[str, ...]
    link: str = ""


@dataclass(frozen=True, slots=True)
class Grid:
    """A table for a page: heads and rows of texts; the first cell heads its row.

    ``worded`` are the columns of words, by number: set to the left, and broken where they must.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    worded: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """Everything of one position on a page. ``ident`` is its fixed id, ``strip`` the level
    strip's heading, ``dot`` what a dot of it stands for."""

    ident: str
    heading: str
    name: str
    drawing: str
    summary: str
    strip: str
    dot: str
    cards: tuple[Card, ...]
    by_level: Grid | None
    rarer: Grid | None
    records: tuple[str, ...]
    transposing: tuple[str, ...]
    any_few: bool
    any_unseen: bool


@dataclass(frozen=True, slots=True)
class Example:
    """One example game."""

    players: str
    about: str
    moves: str
    link: str = ""


def part_of(answer: RepliesAnswer, ident: str, look: Look, marks: Marks) -> Part:
    """One answer as a part of a page; ``marks`` are drawn on its key diagram."""
    position, letters = answer.position, look.letters
    board = chess.Board(position.fen)
    drawn = Marks(last_move(position), marks.arrows, marks.squares)
    levels = [level for reply in answer.replies for level in reply.levels]
    return Part(
        ident=ident,
        heading=heading(position, letters, plays=bool(answer.went_on)),
        name=words.clean(position.name or ""),
        drawing=diagram(board, look.view, drawn, standalone=False),
        summary=sentences.summary(answer, letters),
        strip=grouped.wording(answer).strip,
        dot=grouped.wording(answer).dot,
        cards=tuple(
            _card(answer, reply, look)
            for i, reply in enumerate(answer.replies)
            if _has_card(i, reply)
        ),
        by_level=_by_level(answer, letters),
        rarer=_rarer(answer, letters),
        records=tuple(sentences.records(answer)),
        transposing=tuple(sentences.transpositions(answer, letters)),
        any_few=any(level.few for level in levels) or any(r.few for r in answer.replies),
        any_unseen=any(map(sentences.not_seen, levels)),
    )


def heading(position: PositionFacts, letters: str | None = None, plays: bool = True) -> str:
    """``What Black plays after 1. e4 e5 2. Nf3``; ``After ...`` where no game went on."""
    mover = words.side(position.to_move)
    if not plays:
        line = words.spelled(position.line, letters) if position.line else ""
        return f"After {line}" if line else "A position where games end"
    if position.line:
        return f"What {mover} plays after {words.spelled(position.line, letters)}"
    start = position.fen.split()[:4] == chess.STARTING_FEN.split()[:4]
    return f"What {mover} plays {'at the start' if start else 'in this position'}"


def _sans(position: PositionFacts) -> list[str]:
    return [word for word in (position.line or "").split() if not word[0].isdigit()]


def last_move(position: PositionFacts) -> chess.Move | None:
    """The move that led to a position, when its line is known from the normal start."""
    board = chess.Board()
    try:
        for san in _sans(position):
            board.push_san(san)
    except ValueError:  # a line from another start
        return None
    same = board.epd().split()[:2] == position.fen.split()[:2]
    return board.peek() if same and board.move_stack else None


def move_label(position: PositionFacts, san: str, letters: str | None = None) -> str:
    """A reply with its number, ``2... Nc6``; without the number when no line is known."""
    san = words.spelled(san, letters)
    dots = "..." if position.to_move == "black" else "."
    if last_move(position) is None and position.line != "":
        return f"... {san}" if position.to_move == "black" else san
    return f"{len(_sans(position)) // 2 + 1}{dots} {san}"


def _has_card(i: int, reply: Reply) -> bool:
    """The first replies have cards in any case, the next ones if there is something to say."""
    return i < ALWAYS_CARDS or (i < MOST_CARDS and not reply.few)


def _card(answer: RepliesAnswer, reply: Reply, look: Look) -> Card:
    board = chess.Board(answer.position.fen)
    move = chess.Move.from_uci(reply.uci)
    board.push(move)
    levels, by = grouped.axis(answer), grouped.wording(answer)
    bands = sentences.levels_of(answer.filters) if answer.filters.by == "level" else ()
    label = move_label(answer.position, reply.san, look.letters)
    kind = sentences.against_expectation(reply)
    verdict, colour = VERDICTS[kind]
    return Card(
        move=label,
        name=words.clean(reply.name or ""),
        drawing=diagram(board, look.view, Marks(move), standalone=False),
        panel=panel(reply, levels, label, grouped.shown(answer), by.axis),
        few=reply.few,
        sentence=sentences.reply_sentence(reply, bands),
        share=words.percent(reply.share),
        share_between=words.percents(reply.share_low, reply.share_high, " to "),
        counts=f"{words.count(reply.games, 'game')} by {words.count(reply.players, 'player')}",
        score=words.score(reply.score),
        score_between=_between(reply.score_low, reply.score_high),
        line=score_line(reply, colour),
        swing=_swing(reply),
        against=_against(reply),
        verdict=verdict,
        verdict_kind=kind.split()[0],
        remarks=tuple(_remarks(reply, answer.filters.by)),
        link=look.links.after(reply.uci) if look.links else "",
    )


def _between(low: float | None, high: float | None) -> str:
    return "" if low is None or high is None else f"{words.score(low)} to {words.score(high)}"


def _against(reply: Reply) -> str:
    if reply.over_expected is None:
        return ""
    low, high = words.signed(reply.over_expected_low), words.signed(reply.over_expected_high)
    games = words.count(reply.over_expected_games, "rated game")
    return f"{words.signed(reply.over_expected)} ({low} to {high}), {games}"


def _swing(reply: Reply) -> str:
    if reply.swing is None or reply.swing_games < FEW_GAMES:
        return ""
    games = words.count(reply.swing_games, "game")
    return f"{words.signed(reply.swing, 1)} pawns on average, {games}"


def _remarks(reply: Reply, by: str) -> Iterator[str]:
    if reply.few and (said := sentences.one_player(reply)):
        yield words.sentence(said)
    if not reply.few:
        unseen = sentences.not_seen_at(reply, grouped.WORDINGS[by].within)
        yield from filter(None, (grouped.trend_sentence(reply, by), sentences.mated(reply), unseen))


def _by_level(answer: RepliesAnswer, letters: str | None) -> Grid | None:
    """The most common replies by level or other group; those that no game is in stay out."""
    table = tables.replies_table(answer, letters=letters)
    shown, by = answer.replies[:MOST_COLUMNS], grouped.wording(answer)
    if not shown:
        return None
    at = [i for i, column in enumerate(table.columns) if column.group == by.title]
    rows = [
        (
            level.label,
            f"{shown[0].levels[n].of:,}",
            *(cell_text(row[i], table.columns[i]) for row in table.rows[: len(shown)]),
        )
        for n, (i, level) in enumerate(zip(at, answer.levels, strict=True))
        if shown[0].levels[n].of and n in grouped.shown(answer)
    ]
    every = tuple(
        words.hundredths(reply.share) + (sentences.FEW_SIGN if reply.few else "") for reply in shown
    )
    moves = tuple(move_label(answer.position, reply.san, letters) for reply in shown)
    return Grid(
        caption=by.caption,
        heads=(by.head, "Games", *moves),
        rows=(*rows, ("together", f"{answer.went_on:,}", *every)),
    )


def _rarer(answer: RepliesAnswer, letters: str | None) -> Grid | None:
    """The replies that have no card, in numbers."""
    table = tables.replies_table(answer, letters=letters)
    rows = [
        row
        for i, (row, reply) in enumerate(zip(table.rows, answer.replies, strict=True))
        if not _has_card(i, reply)
    ]
    picked = [i for i, column in enumerate(table.columns) if not column.group]
    if not rows:
        return None
    return Grid(
        caption="Rarer replies",
        heads=tuple(table.columns[i].head for i in picked),
        rows=tuple(tuple(cell_text(row[i], table.columns[i]) for i in picked) for row in rows),
    )


def orders_grid(answer: OrdersAnswer | None, letters: str | None = None) -> Grid | None:
    """The move orders as a table; None when there is but one."""
    if answer is None or len(answer.orders) < 2:
        return None
    table = tables.orders_table(answer, letters)
    return Grid(
        caption="Move orders, most common first",
        heads=tuple(column.head for column in table.columns),
        rows=tuple(tuple(map(cell_text, row, table.columns)) for row in table.rows),
    )


def examples_of(answer: GamesAnswer | None, look: Look, veil: Veil) -> tuple[Example, ...]:
    """The example games, names as the veil lets them through."""
    return tuple(example_of(row, look, veil) for row in answer.rows) if answer else ()


def example_of(row: GameRow, look: Look, veil: Veil) -> Example:
    """A game as an example: who, how it went, its first moves."""
    sides = ((row.white, row.white_rating), (row.black, row.black_rating))
    white, black = (_player(veil.person(name), rating) for name, rating in sides)
    result = RESULTS[row.result].replace("unknown", "result unknown")
    mate = " by mate" if row.ended_by_mate else ""
    where = [words.clean(veil.tag(row.event, row) or ""), when(row.date)]
    moves = numbered(row.sans[: 2 * MOST_MOVES], row.start_fen)
    more = " ..." if row.cut_short or len(row.sans) > 2 * MOST_MOVES else ""
    return Example(
        players=f"White {white}, Black {black}",
        about=", ".join(
            [f"{result}{mate}, {words.count(row.moves, 'move')}", *(text for text in where if text)]
        ),
        moves=words.spelled(moves, look.letters) + more,
        link=look.links.game(row) if look.links else "",
    )


def _player(name: str | None, rating: int | None) -> str:
    shown = f"({rating})" if rating else "(unrated)"
    return f"{words.clean(name)} {shown}" if name else shown


def when(date: str) -> str:
    """A date of PGN in words as far as it is known: ``May 2024``; empty for none."""
    year, month, day = (*date.split("."), "??", "??")[:3]
    if not year.isdigit():
        return ""
    if not month.isdigit():
        return year
    named = f"{words.MONTHS[int(month) - 1]} {year}"
    return f"{int(day)} {named}" if day.isdigit() else named
