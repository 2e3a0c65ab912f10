"""Lines of a lesson that hardly ever arise, and how many moves are learnt for them alone."""

from __future__ import annotations

from collections.abc import Mapping

import chess

from explorer.positions.lesson import Lesson
from explorer.query.lesson_model import RareLine
from explorer.query.reach import Reach
from ingest.poskey import key_of

RARE_IN_100 = 0.5


def rare_lines(lesson: Lesson, found: Reach) -> tuple[RareLine, ...]:
    """Replies that begin a line met in fewer than RARE_IN_100 of 100 games, most moves first.

    A line has the student's moves to which no other way leads. A rare line within a
    rare one is not told again, nor one that begins where there are too few games to say.
    """
    steps, start = _steps(lesson, found), found.chain.start
    rare = []
    for position in _rarely_met(found):
        moves = len(_from(steps, position) - _from(steps, start, without=position))
        line = lesson.places[position].numbered
        rare.append(RareLine(line, moves, 100 * found.run.reach(position)))
    return tuple(sorted(rare, key=lambda line: (-line.moves, line.in_100, line.line)))


def _rarely_met(found: Reach) -> set[int]:
    """The first positions of rare lines, on the ways through lines that are not rare."""
    taught = found.chain.taught
    asked = {place for parts in found.run.asked.values() for place in parts}
    often = {to for to in taught if 100 * found.run.reach(to) >= RARE_IN_100}
    before = {taught[place] for place in often} & asked
    if not found.chain.students_turn:
        before.add(found.chain.start)
    last = found.run.asked.get(found.route.last_turn - 1, {})
    return {
        to
        for place in before
        if place not in last
        for to in found.chain.replies[place]
        if to in taught and to not in often
    }


Steps = dict[int, set[int]]  # a taught position -> those that may come next


def _steps(lesson: Lesson, found: Reach) -> Steps:
    """How the lesson goes on: by its lines, and by replies that come back into it."""
    taught = found.chain.taught
    steps: Steps = {}
    if not found.chain.students_turn:
        steps[found.chain.start] = _answered(lesson, found, found.chain.start)
    for place, after in taught.items():
        steps[place] = _answered(lesson, found, after)
    return steps


def _answered(lesson: Lesson, found: Reach, place: int) -> set[int]:
    """The taught positions after an opponent's position."""
    if (after := found.route.after.get(place)) is not None:
        return found.chain.taught.keys() & after.values()
    answered = set()
    if there := lesson.places.get(place):
        for reply in there.replies:
            board = chess.Board(there.fen)
            board.push_uci(reply.uci)
            answered.add(key_of(board))
    return answered & found.chain.taught.keys()


def _from(steps: Mapping[int, set[int]], start: int, without: int | None = None) -> set[int]:
    """The positions to which steps lead from a start, itself among them."""
    seen: set[int] = set()
    ahead = [start]
    while ahead:
        place = ahead.pop()
        if place not in seen and place != without:
            seen.add(place)
            ahead += steps.get(place, ())
    return seen
