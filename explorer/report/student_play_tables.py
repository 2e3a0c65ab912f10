"""What a student plays, as tables: the tree of own moves beside the others."""

from __future__ import annotations

from collections.abc import Iterator

from explorer.query.student_model import StudentAnswer
from explorer.query.student_parts import Choice, OwnMove, OwnTree
from explorer.report import student_sentences as said
from explorer.report import words
from explorer.report.student_cells import SCORE, Tables, after, left_out, rate_cells, results_cells
from explorer.report.student_tree import differences, rarely_met
from explorer.report.tables import Cell, Column, LevelShare, Span, Table

TREES, SHOWN, MOVES = 4, 10, 3  # trees, positions of each, moves in each position: for a reader

_MOVE = (
    Column("After", "moves"),
    Column("Move"),
    Column("Times", "count"),
    Column("of", "count", file_head="Games there"),
    Column("Share", "share", file_head="Share"),
    Column("Share between", "share"),
    Column("Others in 100", "share", file_head="Share of the others"),
    Column("Others between", "share", file_head="Others between", data_only=True),
    Column("Their games", "count", file_head="Games of the others"),
    Column("Differs", file_head="Differs clearly"),
)


def _move_cells(choice: Choice, move: OwnMove, letters: str | None) -> Iterator[Cell]:
    yield after(choice.line, letters)
    yield said.numbered(choice.line, move.san, letters)
    yield from rate_cells(move.own)
    crowd = move.others
    unseen = crowd.high if crowd.games and not crowd.cases else None
    yield LevelShare(crowd.share, unseen, bool(crowd.games) and crowd.few)
    yield Span(crowd.low, crowd.high)
    yield crowd.games
    yield "clearly" if choice.differs and move is choice.moves[0] else ""


def _against(one: OwnTree, letters: str | None) -> str:
    return said.numbered("", one.against, letters) if one.against else ""


def plays_tables(answer: StudentAnswer, letters: str | None) -> Tables:
    """What differs, then the trees met most: their commonest positions and moves."""
    differs = () if answer.few else differences(answer, letters)
    if differs:
        yield Table(
            title="Where you choose otherwise than the others",
            columns=(Column("In words", "moves"),),
            rows=tuple((sentence,) for sentence in differs),
        )
    trees = [one for one in answer.plays if one.choices]
    for place, one in enumerate(trees[:TREES]):
        against = _against(one, letters)
        name = f"Black against {against}" if against else "White"
        met = sorted((choice.games for choice in one.choices), reverse=True)
        least = met[min(SHOWN, len(met)) - 1]
        rows = tuple(
            tuple(_move_cells(choice, move, letters))
            for choice in one.choices
            if choice.games >= least
            for move in choice.moves[:MOVES]
        )
        every = sum(len(choice.moves) for choice in one.choices)
        notes = [left_out(every - len(rows), "move")]
        if place == len(trees[:TREES]) - 1:
            notes += [left_out(len(trees[TREES:]), "first move"), rarely_met(answer, letters)]
        yield Table(
            title=f"What you play with {name}",
            columns=_MOVE,
            rows=rows,
            notes=tuple(filter(None, notes)),
        )


def moves_table(answer: StudentAnswer, letters: str | None = None) -> Table:
    """Every move of the student in every position of the tree: what a table file has."""
    rows = [
        (one.side, _against(one, letters), choice, move)
        for one in answer.plays
        for choice in one.choices
        for move in choice.moves
    ]
    return Table(
        title="What you play",
        columns=(
            Column("Side"),
            Column("Against"),
            Column("Depth", "count"),
            *_MOVE,
            Column("Others: players", "count"),
            Column("Differs: p", "score"),
            *SCORE,
            Column("Last played"),
            Column("Opening", "moves"),
        ),
        rows=tuple(
            (
                side,
                against,
                choice.depth,
                *_move_cells(choice, move, letters),
                move.others.players,
                choice.difference.p if move is choice.moves[0] else None,
                *results_cells(move.results),
                move.last.isoformat() if move.last else None,
                words.clean(move.name or ""),
            )
            for side, against, choice, move in rows
        ),
    )
