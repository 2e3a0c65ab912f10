"""The overview of a class: a row for each student, by initials, with the way to the page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from explorer.query.habits_model import Habit
from explorer.query.model import FEW_GAMES
from explorer.query.student_model import StudentAnswer
from explorer.query.student_parts import OwnRate
from explorer.report import habits_words, words
from explorer.report.privacy import Veil
from explorer.report.sentences import FEW_SIGN, expectation
from explorer.report.sheet import PageOptions, sheet
from explorer.report.student_sentences import often

TITLE = "The class, student by student"
FOOT = (
    f"{FEW_SIGN} fewer than {FEW_GAMES} games: too few to say.",
    "Against expectation: score less expected score, a game, where both players are rated, with "
    "its 95 % interval.",
    "Left the lesson: games that the student left first, of those that entered it. Mistakes made: "
    "the listed mistakes of the student's level, of the chances to make them. Punished: those of "
    "opponents, of the chances to punish them.",
    "Habits: those in which a student differs clearly from the others of the level.",
)
HEADS = (
    "Student",
    "Games",
    "Against expectation",
    "Rated games",
    "Left the lesson",
    "Mistakes made",
    "Punished",
)
NOTHING = "–"
SHARED = "one between two of them counts for each"


@dataclass(frozen=True, slots=True)
class Entry:
    """One student: how the page calls this one, and where the page is."""

    label: str
    href: str
    answer: StudentAnswer


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table, as texts."""

    label: str
    href: str
    cells: tuple[str, ...]


def overview_page(
    entries: Sequence[Entry], missing: Sequence[str], options: PageOptions, names: Sequence[str]
) -> str:
    """HTML of the overview. The bytes depend on the arguments alone.

    ``missing`` are the labels of members of whom there is no page; ``names`` all names of the
    class, which stand nowhere unless full names are asked for.
    """
    veil = Veil(options.names, None, tuple(names))
    games = sum(entry.answer.short.games for entry in entries)
    return sheet(
        "overview.html.j2",
        None,
        options,
        title=TITLE,
        name=None,
        notes=[*FOOT, expectation(entries[0].answer.source)],
        reached=[("Students", f"{len(entries)}"), ("Games", f"{games:,}; {SHARED}")],
        veil=veil,
        says=_says(entries, missing),
        heads=HEADS,
        rows=[Row(e.label, e.href, tuple(_cells(e.answer))) for e in entries],
        habits=[(e.label, told) for e in entries if (told := _habits(e.answer))],
    )


def _says(entries: Sequence[Entry], missing: Sequence[str]) -> list[str]:
    told = [
        f"{words.count(len(entries), 'student')}. Each has a page of games and things to practise."
    ]
    if missing:
        why = "Without a page, because the library has no games"
        told.append(words.sentence(f"{why}: {words.listed(missing)}"))
    unsure = [entry.label for entry in entries if entry.answer.doubts]
    if unsure:
        check = "Please check whether this is one person each"
        told.append(words.sentence(f"{check}: {words.listed(unsure)}"))
    return told


def _cells(answer: StudentAnswer) -> Iterator[str]:
    over = answer.short.results[0].over_expected
    yield f"{answer.short.games:,}"
    if over.value is None:
        yield NOTHING
    elif over.few or over.low is None or over.high is None:
        yield f"{words.signed(over.value)}{FEW_SIGN}"
    else:
        spread = f"{words.signed(over.low)} to {words.signed(over.high)}"
        yield f"{words.signed(over.value)} ({spread})"
    yield f"{over.games:,}"
    lesson = answer.lesson
    yield _rate(lesson.left_by_student) if lesson else NOTHING
    yield _rate(answer.mistakes.all_made)
    yield _rate(answer.mistakes.all_punished)


def _rate(rate: OwnRate) -> str:
    return often(rate) if rate.games else NOTHING


def _habits(answer: StudentAnswer) -> str:
    """``To practise: castling by move 10. Ahead of the others: ...``; empty for nothing to say."""
    told = answer.habits
    if told is None or told.player_games < FEW_GAMES:
        return ""
    practise = [habit for habit in told.habits if habits_words.apart(habit) < 0]
    in_hand = [habit for habit in told.habits if habits_words.apart(habit) > 0]
    return " ".join(
        f"{head}: {_aims(habits)}."
        for head, habits in (("To practise", practise), ("Ahead of the others", in_hand))
        if habits
    )


def _aims(habits: Sequence[Habit]) -> str:
    """What to aim at; of one aim by several moves only the last."""
    aims = [habits_words.AIMS[habit.id] for habit in habits]
    return "; ".join({aim.split(" by move ")[0]: aim for aim in aims}.values())
