"""Which positions of a lesson deserve a diagram: those that the student meets most."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from explorer.positions.lesson import Lesson, Place

FIRST_PLY = 3  # everybody knows the board before that
FAR = 4  # plies between two diagrams of one line


def by_meeting(places: Iterable[Place], in_100: Mapping[int, float]) -> list[Place]:
    """The positions after a reply, those met in most of 100 games first, then the earliest.

    What is not in ``in_100`` comes last; the file's order decides between equals.
    """
    after_a_reply = [place for place in places if place.line]
    return sorted(after_a_reply, key=lambda place: (-in_100.get(place.key, 0.0), len(place.line)))


def key_positions(
    lesson: Lesson, in_100: Mapping[int, float], most: int, apart: bool
) -> list[Place]:
    """At most ``most`` positions with a taught move, in the order of `by_meeting`.

    ``apart`` leaves out those that lie too near on one line. The first moves are chosen only
    where the lesson teaches nothing else.
    """
    known = by_meeting(lesson.taught, in_100)
    later = [place for place in known if len(place.line) >= FIRST_PLY]
    chosen: list[Place] = []
    for place in later or known:
        if len(chosen) < most and not (apart and _near_any(place, chosen)):
            chosen.append(place)
    return chosen


def _near_any(place: Place, others: Sequence[Place]) -> bool:
    return any(_near(place.line, other.line) for other in others)


def _near(one: Sequence[str], other: Sequence[str]) -> bool:
    """Whether one line goes on from the other for fewer than FAR plies."""
    short, long = sorted((one, other), key=len)
    return len(long) - len(short) < FAR and tuple(long[: len(short)]) == tuple(short)
