"""What is said of exercises: the last move, the answer with its reason, how they were chosen."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from explorer.positions.exercise import Exercise
from explorer.positions.position import numbered
from explorer.query.exercises import Worksheet
from explorer.report import words
from explorer.report.case_words import material, threats

TITLE = "Your move"
FACTS_NOTE = (
    "After each answer stand what the rules say of it (check, few replies, what is attacked that "
    "is undefended or worth more, material in pawns) and then the teacher's words."
)
PRACTISED = "The positions are of the student's own games: what was missed most often comes first."
_COMMAND = re.compile(r"\[%[^\]]*\]")  # of a program that the file came from


def just_played(exercise: Exercise, letters: str | None = None) -> str:
    """``Black has just played 2... f6.``"""
    *line, san = exercise.position.sans
    by, dots = ("Black", "...") if len(line) % 2 else ("White", ".")
    move = words.spelled(f"{len(line) // 2 + 1}{dots} {san}", letters)
    return f"{by} has just played {move}."


def turn(exercise: Exercise) -> str:
    """``White to move``."""
    return f"{words.side(exercise.position.to_move)} to move"


def answer(exercise: Exercise, letters: str | None = None) -> tuple[str, str]:
    """The move to find, with its number, and how the lesson goes on: ``3. Nxe5``, ``fxe5 ...``."""
    start = exercise.position.board().fen()
    whole = words.spelled(numbered(exercise.sans, start), letters)
    first = words.spelled(numbered(exercise.sans[:1], start), letters)
    return first, whole.removeprefix(first).strip()


def reason(exercise: Exercise, letters: str | None = None) -> str:
    """What the rules say of the answer, and of the end of the line where that says more."""
    first, last = exercise.facts[0], exercise.facts[-1]
    told = ["Mate."] if first.mate else [*threats(first, letters)]
    if last.mate:
        told += ["Mate at the end."] if last is not first else []
    elif last.balance != exercise.balance:
        said = material(last.balance)
        told.append(said if last is first else f"At the end {_small(said)}")
    if exercise.found:
        cases, games = exercise.found
        told.append(f"Found in {cases:,} of {words.count(games, 'game')}.")
    return " ".join(told)


def _small(text: str) -> str:
    """``material even.``; the names of sides keep their capital."""
    return text if text.startswith(("White", "Black")) else text[0].lower() + text[1:]


def comment(text: str) -> str:
    """The teacher's words, without what programs hide in comments."""
    return words.clean(_COMMAND.sub("", text))


def asides(exercise: Exercise, letters: str | None = None) -> Iterator[str]:
    """Other good answers, and those that the teacher warns of."""
    start = exercise.position.board().fen()
    for word, moves in (("Also", exercise.alternatives), ("Not", exercise.warnings)):
        for move in moves:
            said = comment(move.comment)
            named = words.spelled(numbered([move.san], start), letters)
            yield f"{word} {named}{f': {said}' if said else '.'}"


def notes(sheet: Worksheet) -> Iterator[str]:
    """How the exercises were chosen, and what stands in the answers."""
    yield PRACTISED if sheet.practised else _chosen(sheet)
    if sheet.origin and sheet.of_mistakes:
        made = _opponents(sheet)
        yield (
            f"Some exercises punish a mistake: a move that costs {made} material beside the other "
            "moves there. Where the lesson has no answer to it, the answer is the one that scored "
            "best in the library, or mates."
        )
    yield FACTS_NOTE


def _chosen(sheet: Worksheet) -> str:
    """Which positions of those that could be asked are on the sheet."""
    shown = len(sheet.exercises)
    of = f"{shown} of {words.count(sheet.of, 'position')}"
    if shown == sheet.of:
        of = f"All {shown} positions" if shown > 1 else "The one position"
    if sheet.seed is not None:
        said = f"{of}, drawn with seed {sheet.seed}"
        if sheet.weighed:
            said += f"; likelier are those that more games against {_opponents(sheet)} come to"
        said += "."
    elif sheet.weighed:
        said = f"{of}: those that most games against {_opponents(sheet)} come to."
    else:
        said = f"{of}, in the lesson's order."
    if not sheet.weighed:
        why = "no game of the library comes to them" if sheet.origin else "no library was asked"
        said += f" Each counts alike: {why}."
    return said


def _opponents(sheet: Worksheet) -> str:
    return words.players(sheet.origin.filters.levels if sheet.origin else ())


def numbers(first: int, exercises: Sequence[object]) -> str:
    """``Exercises 1 to 6``."""
    last = first + len(exercises) - 1
    return f"Exercises {first} to {last}" if last > first else f"Exercise {first}"
