"""The answer about a student as plain tables, one below the other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from explorer.query.student_model import (
    AgainstLesson,
    Better,
    Change,
    Choice,
    Cost,
    Leaving,
    OwnMean,
    OwnMistake,
    OwnMove,
    OwnRate,
    OwnTree,
    Period,
    Practise,
    Results,
    ShortGame,
    StudentAnswer,
)
from explorer.report import student_sentences as said
from explorer.report import words
from explorer.report.habits_tables import habits_table
from explorer.report.student_discreet import Discreet
from explorer.report.student_tree import differences, rarely_met, stands_out
from explorer.report.student_words import notes
from explorer.report.tables import Cell, Column, Few, InKind, LevelShare, Span, Table

# For a reader; a table file or JSON has all.
TREES, SHOWN, MOVES = 4, 10, 3  # trees, positions of each, moves in each position
MISSED = 6  # rows of a list
MONTHS = 12
WHICH = {
    "all": "All games",
    "white": "With White",
    "black": "With Black",
    "kept": "You did not leave it first",
    "left": "You left it first",
    "not entered": "Not entered",
}
TASKS = {
    "mistake": "instead of the mistake",
    "cost": "it scores better",
    "punish": "punishes a mistake",
    "lesson": "the lesson teaches it",
}

Tables = Iterator[Table]


def student_tables(
    answer: StudentAnswer, letters: str | None = None, names: str = "initials"
) -> tuple[Table, ...]:
    """Results, what is played, the lesson, what costs, whether it got better, what to practise,
    short games; the footnotes below the last. Of few games nothing is compared."""
    discreet = Discreet.over(answer, names)
    tables = [_short(answer, discreet, letters)]
    tables += _plays(answer, letters)
    if answer.lesson and answer.lesson.games:
        tables += _lesson(answer.lesson, discreet, letters)
    if not answer.few:
        tables += [*_costs(answer, letters), *_better(answer.better, answer, letters)]
        tables += _practise(answer.practise, letters)
    tables += _games([*answer.won, *answer.lost], letters)
    if answer.habits and not answer.few:
        told = habits_table(answer.habits, names)
        tables.append(replace(told, columns=_first_block(told.columns), notes=()))
    *before, last = tables
    return (*before, replace(last, notes=(*last.notes, *notes(answer, discreet.veil))))


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
            *_SCORE,
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
                *_results_cells(move.results),
                move.last.isoformat() if move.last else None,
                words.clean(move.name or ""),
            )
            for side, against, choice, move in rows
        ),
    )


def _first_block(columns: Sequence[Column]) -> tuple[Column, ...]:
    """For a reader only the student beside the others."""
    own = columns[1].group
    return tuple(
        column if not column.group or column.group == own else replace(column, data_only=True)
        for column in columns
    )


# Results.

_SCORE = (
    Column("Won", "count"),
    Column("Drawn", "count"),
    Column("Lost", "count"),
    Column("Score", "score"),
    Column("Score between", "score"),
    Column("Against expectation", "signed"),
    Column("Against expectation between", "signed"),
    Column("Rated games", "count"),
)


def _mean(told: OwnMean) -> Iterator[Cell]:
    yield Few(told.value) if told.few and told.value is not None else told.value
    yield Span(told.low, told.high)


def _results_cells(told: Results) -> Iterator[Cell]:
    yield from (told.wins, told.draws, told.losses)
    yield from _mean(told.score)
    yield from _mean(told.over_expected)
    yield told.over_expected.games


def _results(title: str, rows: Iterable[Results], lead: Sequence[str] = ()) -> Table:
    return Table(
        title=title,
        lead=tuple(lead),
        columns=(Column("Games", "moves"), Column("Number", "count"), *_SCORE),
        rows=tuple((WHICH[row.of], row.games, *_results_cells(row)) for row in rows if row.games),
    )


def _short(answer: StudentAnswer, discreet: Discreet, letters: str | None) -> Table:
    title = f"The games of {discreet.name}"
    lead = [
        _which(answer, discreet),
        *said.in_short(answer),
        *map(said.doubt, answer.doubts),
    ]
    if not answer.few:
        lead += stands_out(answer, letters)
    return _results(title, answer.short.results, lead)


def _which(answer: StudentAnswer, discreet: Discreet) -> str:
    """Which games: ``Games: rapid, until March 2026.``"""
    chosen = replace(answer.filters, levels=(), player=None)
    told = words.filter_sentence(chosen, discreet.veil)
    return told.replace("Players of every level, ", "Games: ", 1)


# What is played.

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
    yield words.spelled(choice.line, letters)
    yield said.numbered(choice.line, move.san, letters)
    yield from _rate(move.own)
    crowd = move.others
    unseen = crowd.high if crowd.games and not crowd.cases else None
    yield LevelShare(crowd.share, unseen, bool(crowd.games) and crowd.few)
    yield Span(crowd.low, crowd.high)
    yield crowd.games
    yield "clearly" if choice.differs and move is choice.moves[0] else ""


def _rate(told: OwnRate) -> Iterator[Cell]:
    yield told.cases
    yield told.games
    yield Few(told.share) if told.few and told.share is not None else told.share
    yield Span(told.low, told.high)


def _against(one: OwnTree, letters: str | None) -> str:
    return said.numbered("", one.against, letters) if one.against else ""


def _plays(answer: StudentAnswer, letters: str | None) -> Tables:
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
        notes = [_left_out(every - len(rows), "move")]
        if place == len(trees[:TREES]) - 1:
            notes += [_left_out(len(trees[TREES:]), "first move"), rarely_met(answer, letters)]
        yield Table(
            title=f"What you play with {name}",
            columns=_MOVE,
            rows=rows,
            notes=tuple(filter(None, notes)),
        )


def _left_out(number: int, thing: str) -> str:
    if not number:
        return ""
    more = words.count(number, f"rarer {thing}")
    return f"{more} {'is' if number == 1 else 'are'} not shown; JSON has all."


# The lesson.


def _lesson(told: AgainstLesson, discreet: Discreet, letters: str | None) -> Tables:
    name = discreet.text(told.title) or "the lesson"
    yield replace(
        _results(f"Beside {name}", told.results, [*said.lesson(told, letters), *told.warnings]),
    )
    yield Table(
        title="How far you keep to it",
        columns=(Column("At move", "count"), *_rate_columns("Taught move", "Games in it")),
        rows=tuple((one.move, *_rate(one.kept)) for one in told.at_moves),
    )
    for title, ways in (
        ("Where you left it", told.by_student),
        ("Where opponents left it", told.by_opponent),
    ):
        if ways:
            yield _leavings(title, ways, letters)


def _rate_columns(what: str, of: str) -> tuple[Column, ...]:
    return (
        Column(what, "count"),
        Column(of, "count"),
        Column("Share", "share"),
        Column("Share between", "share"),
    )


def _leavings(title: str, ways: Sequence[Leaving], letters: str | None) -> Table:
    return Table(
        title=title,
        columns=(
            Column("After", "moves"),
            Column("Played"),
            Column("The lesson", "moves"),
            Column("Times", "count"),
            Column("Last on"),
            Column("Against expectation", "signed"),
        ),
        rows=tuple(
            (
                words.spelled(one.line, letters),
                said.numbered(one.line, one.san, letters),
                f"{words.spelled(', '.join(one.instead), letters)}"
                + (f" (knows it: {one.kind})" if one.kind else ""),
                one.games,
                one.last.isoformat() if one.last else None,
                next(_mean(one.results.over_expected)),
            )
            for one in ways[:MISSED]
        ),
        notes=tuple(filter(None, [_left_out(len(ways[MISSED:]), "way")])),
    )


# What costs.


def _costs(answer: StudentAnswer, letters: str | None) -> Tables:
    found = answer.costs.found
    yield Table(
        title="What costs most",
        columns=(
            Column("After", "moves"),
            Column("Move"),
            *_rate_columns("Times", "of")[:2],
            Column("Better"),
            Column("Scores less by", "signed"),
            Column("Less between", "signed"),
            Column("Points lost in 100", "score"),
            Column("Lost between", "score"),
            Column("Last on"),
        ),
        rows=tuple(tuple(_cost_cells(one, letters)) for one in found),
        notes=tuple(_stopped(one, letters) for one in found if one.over)
        if found
        else (said.NOTHING_COSTS,),
    )
    listed = answer.mistakes
    for title, what, rows in (
        ("Mistakes of your level", "You played it", listed.made),
        ("Chances to punish them", "You punished it", listed.punished),
    ):
        if rows:
            yield _mistakes(title, what, rows, letters)


def _stopped(one: Cost, letters: str | None) -> str:
    move = said.numbered(one.line, one.san, letters)
    return f"{move}: {said.over_now(one.last, one.since_then)}"


def _cost_cells(one: Cost, letters: str | None) -> Iterator[Cell]:
    yield words.spelled(one.line, letters)
    yield said.numbered(one.line, one.san, letters)
    yield one.own.cases
    yield one.own.games
    yield said.numbered(one.line, one.favoured.san, letters)
    yield one.difference.value
    yield Span(one.difference.low, one.difference.high)
    yield one.lost
    yield Span(one.lost_low, one.lost_high)
    yield one.last.isoformat() if one.last else None


def _mistakes(title: str, what: str, rows: Sequence[OwnMistake], letters: str | None) -> Table:
    def cells(one: OwnMistake) -> Iterator[Cell]:
        san = one.costly.san if one.what == "made" else one.answer or ""
        yield words.spelled(one.line, letters)
        yield said.numbered(one.line, san, letters)
        yield from _rate(one.own)
        crowd = one.others
        yield Few(crowd.share) if crowd.few and crowd.games else crowd.share
        yield crowd.games
        yield one.last.isoformat() if one.last else None

    wrong = "Last on" if rows[0].what == "made" else "Last missed"
    return Table(
        title=title,
        columns=(
            Column("After", "moves"),
            Column("Move"),
            *_rate_columns(what, "Chances"),
            Column("Others", "share"),
            Column("Their chances", "count"),
            Column(wrong),
        ),
        rows=tuple(tuple(cells(one)) for one in rows),
    )


# Is it getting better?


def _better(better: Better, answer: StudentAnswer, letters: str | None) -> Tables:
    measures = [measure for measure in _MEASURED if _ever(better.months, measure)]
    if better.months:
        left_out = len(better.months[:-MONTHS])
        yield Table(
            title="Month by month",
            lead=tuple(said.better(better, answer.mistakes.made, letters)),
            columns=(
                *_MONTH,
                *(column for measure in measures for column in _MEASURED[measure]),
            ),
            rows=tuple(
                tuple(_period_cells(period, measures)) for period in better.months[-MONTHS:]
            ),
            notes=tuple(filter(None, [_earlier(left_out)])),
        )
    if better.since and better.before and better.after and better.changes:
        yield Table(
            title=f"Before and since {words.day(better.since)}",
            columns=(
                Column("Measure", "moves"),
                Column("Before", "share"),
                Column("of", "count", file_head="Before: of"),
                Column("Since", "share"),
                Column("of", "count", file_head="Since: of"),
                Column("Change", "points"),
                Column("Change between", "points"),
            ),
            rows=tuple(
                tuple(_change_cells(change, better.before, better.after))
                for change in better.changes
            ),
        )


_MONTH = (
    Column("Month"),
    Column("Games", "count"),
    Column("Against expectation", "signed"),
    Column("Against between", "signed"),
)
_MEASURED = {
    "mistakes": (Column("Mistakes", "count"), Column("Chances for them", "count")),
    "punished": (Column("Punished", "count"), Column("Chances to punish", "count")),
    "kept": (Column("Taught moves", "count"), Column("of", "count", file_head="Taught asked")),
    "left_at": (Column("Left it at move", "pieces"),),
}


def _ever(months: Sequence[Period], measure: str) -> bool:
    """Whether there was a chance in any month."""
    found = [getattr(period, measure) for period in months]
    return any(one is not None and one.games for one in found)


def _earlier(months: int) -> str:
    if not months:
        return ""
    many = words.count(months, "earlier month")
    return f"{many} {'is' if months == 1 else 'are'} not shown; JSON has them."


def _period_cells(period: Period, measures: Sequence[str]) -> Iterator[Cell]:
    yield period.label
    yield period.games
    yield from _mean(period.over_expected)
    for measure in measures:
        found: OwnRate | OwnMean = getattr(period, measure)
        if isinstance(found, OwnRate):
            yield found.cases
            yield found.games
        else:
            yield next(_mean(found))


_KINDS = {"over_expected": ("signed", "signed"), "left_at": ("pieces", "signed pieces")}


def _change_cells(change: Change, before: Period, after: Period) -> Iterator[Cell]:
    kind, difference = _KINDS.get(change.measure, ("share", "points"))
    yield said.MEASURES[change.measure]
    for period in (before, after):
        found: OwnRate | OwnMean = getattr(period, change.measure)
        value = found.share if isinstance(found, OwnRate) else found.value
        yield InKind(kind, Few(value) if found.few and value is not None else value)
        yield found.games
    told = change.difference
    few = change.few and told.value is not None
    yield InKind(difference, Few(told.value) if few else told.value)
    yield InKind(difference, Span(told.low, told.high))


# What to practise, and short games.


def _practise(items: Sequence[Practise], letters: str | None) -> Tables:
    yield Table(
        title="What to practise next",
        notes=() if items else (said.NOTHING_TO_PRACTISE,),
        columns=(
            Column("After", "moves"),
            Column("Find"),
            Column("because", "moves"),
            Column("You played"),
            Column("Not found", "count"),
            Column("of", "count", file_head="Of"),
            Column("Last on"),
        ),
        rows=tuple(
            (
                words.spelled(item.line, letters),
                said.numbered(item.line, item.answer, letters),
                TASKS[item.kind],
                words.spelled(item.played, letters) if item.played else None,
                item.own.cases,
                item.own.games,
                item.last.isoformat() if item.last else None,
            )
            for item in items
        ),
    )


def _games(games: Sequence[ShortGame], letters: str | None) -> Tables:
    if not games:
        return
    yield Table(
        title="Your shortest games, and the move at which each turned",
        columns=(
            Column("Date"),
            Column("Side"),
            Column("Result"),
            Column("Moves", "count"),
            Column("It turned with", "moves"),
            Column("Swing", "pawns"),
        ),
        rows=tuple(
            (
                game.row.date,
                words.side(game.side),
                "won" if game.won else "lost",
                game.row.moves,
                said.numbered(game.line, game.turn, letters),
                game.swing,
            )
            for game in games
        ),
    )
