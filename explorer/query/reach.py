"""How games run through a lesson: positions and taught moves from the lesson, shares from
the library."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import chess

from explorer.numbers.chain import Chain, Flow, Masses, flow, influence
from explorer.numbers.delta import chance_interval
from explorer.numbers.intervals import Interval
from explorer.positions.lesson import Lesson
from explorer.positions.position import Position, fen_of, first_ply
from explorer.query.lesson_model import States
from explorer.query.lesson_shares import Chosen, Shares
from explorer.query.moves import pack
from ingest.errors import InputError
from ingest.poskey import key_of, keys_after

After = dict[int, int]  # packed move -> key of the position after it


def after_each(board: chess.Board) -> After:
    """The position after each legal move."""
    return {pack(move): key for move, key in keys_after(board).items()}


def whole(part: float) -> float:
    """A sum of shares without what adding up has lost: all games are 1, not a little less."""
    return round(part, 12)


def first_turn_of(start: Position, side: str) -> int:
    """The number of the student's first move from a position on."""
    board = start.board()
    number = first_ply(board.fen()) // 2 + 1
    return number + (side == "white" and board.turn == chess.BLACK)


def replies_of(after: After, shares: Shares, known: Iterable[int] = ()) -> Masses:
    """The shares by the position after each reply, as `Chain.replies` has them.

    Replies to the ``known`` positions (those that the lesson comes to) are in it even if
    nobody played them.
    """
    found = dict.fromkeys(set(known).intersection(after.values()), 0.0)
    for move, games in shares.replies.items():
        found[after[move]] = games / shares.games
    return found


@dataclass(slots=True)
class Route:
    """What a lesson says, from a start on, whatever opponents play.

    ``bare`` is the chain without replies. ``after`` has the opponent's positions at which the
    lesson answers something and which games can come to before ``last_turn``, with what each
    legal move leads to; ``fens`` are those of the same.
    """

    bare: Chain
    last_turn: int
    after: dict[int, After] = field(default_factory=dict)
    fens: dict[int, str] = field(default_factory=dict)

    @property
    def known(self) -> set[int]:
        """The student's positions that the lesson comes to."""
        return {*self.bare.taught, *self.bare.ends}

    def chain(self, shares: Mapping[int, Shares], min_games: int) -> Chain:
        """The chain with the shares of some level; fewer games than ``min_games`` say nothing."""
        known = self.known
        replies: dict[int, Mapping[int, float]] = {
            place: replies_of(after, shares[place], known)
            if shares[place].games >= min_games
            else {}
            for place, after in self.after.items()
        }
        bare = self.bare
        return Chain(
            bare.start,
            bare.students_turn,
            bare.first_turn,
            bare.taught,
            bare.won,
            replies,
            bare.ends,
        )


def route_of(lesson: Lesson, start: Position, last_turn: int) -> Route:
    """The way through a lesson from ``start`` to the student's turn ``last_turn``.

    InputError when the lesson does not come to the start.
    """
    if start.key not in lesson.places:
        raise InputError(
            f"{lesson.name}: no line of the lesson comes to {start.numbered or start.fen}; "
            "choose another --start"
        )
    first = lesson.places[start.key]
    route = Route(
        Chain(start.key, first.students_turn, first_turn_of(start, lesson.side)), last_turn
    )
    boards = _play_taught(route.bare, lesson)
    route.bare.ends = {
        place.key for place in lesson.places.values() if place.students_turn and not place.taught
    }
    turn, coming = route.bare.first_turn, {start.key}
    if not first.students_turn:
        coming = _ask(route, lesson, {start.key: start.board()})
    while coming and turn < last_turn:
        taught = [route.bare.taught[key] for key in coming if key in route.bare.taught]
        coming = _ask(route, lesson, {key: boards[key] for key in taught})
        turn += 1
    return route


def _play_taught(bare: Chain, lesson: Lesson) -> dict[int, chess.Board]:
    """Fill in what is taught; the boards after it, by key."""
    boards = {}
    for place in lesson.places.values():
        if place.taught:
            board = chess.Board(place.fen)
            board.push_uci(place.taught.uci)
            key = bare.taught[place.key] = key_of(board)
            boards[key] = board
            if board.is_checkmate():
                bare.won.add(key)
    return boards


def _ask(route: Route, lesson: Lesson, boards: Mapping[int, chess.Board]) -> set[int]:
    """Add the opponent's positions where the lesson answers something; the answered positions
    that can come after them and were not there yet."""
    came: set[int] = set()
    for key, board in boards.items():
        if key in route.after or key in route.bare.won:
            continue
        after = after_each(board)
        answered = route.bare.taught.keys() & after.values()
        place = lesson.places.get(key)
        if answered or (place and place.replies):
            route.after[key], route.fens[key] = after, fen_of(board)
            came |= answered
    return came


@dataclass(frozen=True, slots=True)
class Reach:
    """How the games of some level run through a lesson.

    ``shares`` has every position of ``route.after``.
    """

    route: Route
    chosen: Chosen
    shares: Mapping[int, Shares]
    chain: Chain
    run: Flow

    def states(self) -> tuple[States, ...]:
        """The five states at each of the student's turns, with the interval of the answered."""
        turns = [standing.turn for standing in self.run.standings]
        worths = [influence(self.chain, self.run, turn) for turn in turns]
        variances = self.chosen.variances([self.by_move(worth) for worth in worths]).tolist()
        found = []
        for standing, variance in zip(self.run.standings, variances, strict=True):
            answered = whole(standing.answered)
            about = chance_interval(answered, variance, self.deciding(standing.turn))
            low, high = about or (None, None)
            found.append(States(
                move=standing.turn,
                answer=whole(standing.answer),
                won=whole(standing.won),
                ended=whole(standing.ended),
                unanswered=whole(standing.unanswered),
                too_few=whole(standing.too_few),
                answered=answered,
                low=low,
                high=high,
            ))  # fmt: skip
        return tuple(found)

    def coming_to(self, positions: Sequence[int]) -> list[Interval | None]:
        """The intervals of `Flow.reach` of untaught positions of the student."""
        last = self.route.last_turn
        worths = [influence(self.chain, self.run, last, position) for position in positions]
        variances = self.chosen.variances([self.by_move(worth) for worth in worths]).tolist()
        deciding = self.deciding(last)
        return [
            chance_interval(self.run.reach(position), variance, deciding)
            for position, variance in zip(positions, variances, strict=True)
        ]

    def deciding(self, turn: int) -> list[tuple[float, float]]:
        """(part of all games, games in the library) of the opponent's positions before a turn."""
        return [
            (part, self.shares[place].games)
            for before, parts in self.run.asked.items()
            if before < turn
            for place, part in parts.items()
        ]

    def by_move(self, worth: Mapping[int, Masses]) -> dict[tuple[int, int], float]:
        """What replies are worth by (opponent's position, packed move), as far as they occur."""
        return {
            (place, move): worth[place][to]
            for place in worth
            for move, to in self.route.after[place].items()
            if to in worth[place] and move in self.shares[place].replies
        }


def reach(route: Route, chosen: Chosen, min_games: int) -> Reach:
    """Let the games of some level run through the lesson."""
    shares = chosen.shares()
    chain = route.chain(shares, min_games)
    return Reach(route, chosen, shares, chain, flow(chain, route.last_turn))
