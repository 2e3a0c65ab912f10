"""The Monday page: what the class played since a day, and three positions to show."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from explorer.positions.typed import parse_position
from explorer.query.student_parts import OwnRate
from explorer.query.week import ToShow, WeekAnswer, WeekStudent
from explorer.report import words
from explorer.report.cards import Grid
from explorer.report.diagram import Marks, diagram
from explorer.report.grids import grids
from explorer.report.overview_page import SHARED
from explorer.report.privacy import Veil
from explorer.report.sentences import origin
from explorer.report.sheet import PageOptions, sheet
from explorer.report.student_sentences import from_ply, numbered, often, sans_of, times
from explorer.report.tables import Cell, Column, Table

TASKS = {
    "lesson": "What does the lesson teach here?",
    "mistake": "What would you play?",
    "punish": "There is something to win here. What?",
}
NOTES = (
    "Games count by the day on which they were played, not by the day on which they were added.",
    "Taught answers: the moves that the student's lesson teaches, played when it was the student's "
    "turn to, and missed. Listed mistakes: replies that games of the student's level show to be "
    "costly; made of the chances to make them, punished of the chances that opponents gave.",
    "The positions: what most students missed comes first, then what was missed most often.",
    "A week has few games: these are things to talk about, no verdicts on anybody.",
)


@dataclass(frozen=True, slots=True)
class Shown:
    """One position to show, its question, what happened, and the answer."""

    number: int
    drawing: str
    turn: str
    task: str
    says: str
    answer: str


def week_page(
    answer: WeekAnswer, labels: Sequence[str], options: PageOptions, names: Sequence[str]
) -> str:
    """HTML of the week. The bytes depend on the arguments alone.

    ``labels`` say how each member of the class is called here, in the class's order; ``names`` are
    all names of the class, which stand nowhere unless full names are asked for.
    """
    letters = options.letters
    veil = Veil(options.names, None, (*names, *answer.source.people))
    return sheet(
        "week.html.j2",
        None,
        options,
        title=f"The class since {words.day(answer.since)}",
        name=None,
        notes=[*NOTES, *origin(answer.source, veil)],
        reached=[
            ("Collections", _collections(answer, veil)),
            ("Games played", f"since {words.day(answer.since)}"),
        ],
        veil=veil,
        says=tuple(_says(answer, labels)),
        shown=tuple(_shown(answer.to_show, letters)),
        grids=_table(answer, labels),
    )


def _collections(answer: WeekAnswer, veil: Veil) -> str:
    told = [words.clean(veil.text(name)) for name in answer.source.collections]
    return ", ".join(told) or "none"


def _says(answer: WeekAnswer, labels: Sequence[str]) -> Iterator[str]:
    games = sum(one.results.games for one in answer.students)
    students = words.count(len(answer.students), "student")
    shared = f"; {SHARED}" if len(answer.students) > 1 else ""
    yield f"{students} played {words.count(games, 'game')} since {words.day(answer.since)}{shared}."
    met = [one for one in answer.students if one.kept and one.kept.games]
    if met:
        found = sum(one.kept.cases for one in met if one.kept)
        asked = sum(one.kept.games for one in met if one.kept)
        answers = words.count(asked, "taught answer")
        was = "was" if found == 1 else "were"
        who = words.count(len(met), "student")
        yield f"{who} met the lesson: of {answers} {found} {was} found."
    made, punished = (
        _summed([getattr(one, of) for one in answer.students]) for of in ("made", "punished")
    )
    yield f"Listed mistakes: made in {made} chances; those of opponents punished in {punished}."
    if answer.absent:
        absent = words.listed([labels[number] for number in answer.absent])
        yield words.sentence(f"No game since then: {absent}")
    if answer.not_found:
        unknown = words.listed([labels[number] for number, _ in answer.not_found])
        yield words.sentence(f"Not known to the library: {unknown}")


def _summed(rates: Sequence[OwnRate]) -> str:
    return f"{sum(rate.cases for rate in rates)} of {sum(rate.games for rate in rates)}"


def _shown(places: Sequence[ToShow], letters: str | None) -> Iterator[Shown]:
    for number, one in enumerate(places, start=1):
        board = parse_position(one.line).board()
        last = board.peek() if board.move_stack else None
        yield Shown(
            number=number,
            drawing=diagram(board, one.side, Marks(last), standalone=False, large=True),
            turn=f"{words.side(one.side)} to move",
            task=TASKS[one.kind],
            says=_happened(one, letters),
            answer=numbered(one.line, one.answer, letters) if one.answer else "",
        )


def _happened(one: ToShow, letters: str | None) -> str:
    """``After 3... Nf6. Missed 5 times of 7, by 3 students; most often 4. Nc3 was played.``"""
    sans = sans_of(one.line)
    after = from_ply(sans[-1:], len(sans) - 1, letters)
    if not one.missed:
        return f"After {after}. Found every time: {one.met} of {one.met}."
    by = f"{times(one.missed)} in {one.met}, by {words.count(one.by, 'student')}"
    played = numbered(one.line, one.played, letters) if one.played else ""
    if one.kind == "mistake":
        return f"After {after}. {played} was played {by}."
    most = f"; most often {played} was played" if played else ""
    return f"After {after}. The answer was missed {by}{most}."


def _table(answer: WeekAnswer, labels: Sequence[str]) -> tuple[Grid, ...]:
    heads = (
        Column("Student", "moves"),
        Column("Games", "count"),
        Column("Won, drawn, lost", "count"),
        Column("In the lesson", "count"),
        Column("Answers found", "count"),
        Column("missed", "count"),
        Column("Mistakes made", "count"),
        Column("Punished", "count"),
    )
    rows = tuple((labels[one.number], *_cells(one)) for one in answer.students)
    return grids(Table("Student by student", heads, rows))


def _cells(one: WeekStudent) -> Iterator[Cell]:
    went, kept = one.results, one.kept
    yield went.games
    yield f"{went.wins}, {went.draws}, {went.losses}"
    yield None if one.met is None else str(one.met)
    yield None if kept is None or not kept.games else str(kept.cases)
    yield None if kept is None or not kept.games else str(kept.games - kept.cases)
    for rate in (one.made, one.punished):
        yield often(rate) if rate.games else None
