"""The diagrams of a student's page: what costs, what to practise, how short games turned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import chess

from explorer.positions.position import numbered as numbered_line
from explorer.positions.typed import parse_position
from explorer.query.student_model import (
    AgainstLesson,
    Cost,
    OwnMistake,
    Practise,
    ShortGame,
    StudentAnswer,
)
from explorer.report import words
from explorer.report.cards import when
from explorer.report.diagram import Marks, diagram
from explorer.report.student_sentences import (
    found_now,
    from_ply,
    numbered,
    often,
    over_now,
    players_of,
    sans_of,
    times,
)

MOST_CARDS = 4
TELLING = 3  # times that something must have gone wrong to have a card
MOST_GAMES = 2  # of a kind
MOST_MOVES = 25
TASKS = {
    "mistake": "Find a better move.",
    "cost": "Find a move that scores better.",
    "punish": "Find the move that punishes it.",
    "lesson": "Find the move that the lesson teaches.",
}


@dataclass(frozen=True, slots=True)
class Told:
    """A drawing beside a heading and sentences; ``over``: it has stopped."""

    heading: str
    drawing: str
    says: tuple[str, ...]
    over: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """Something to practise: the position, whose turn, what happened, and the answer."""

    number: int
    drawing: str
    turn: str
    says: tuple[str, ...]
    answer: str


def costs(answer: StudentAnswer, letters: str | None) -> list[Told]:
    """Moves that cost, then listed mistakes made or left unpunished, each position once."""
    seen = {(one.key, one.uci) for one in answer.costs.found}
    told = [_cost(one, letters) for one in answer.costs.found]
    told += [
        _made(one, letters)
        for one in answer.mistakes.made
        if (one.key, one.costly.uci) not in seen and one.own.cases >= TELLING
    ]
    told += [
        _missed(one, letters)
        for one in answer.mistakes.punished
        if one.own.games - one.own.cases >= TELLING
    ]
    told.sort(key=lambda one: one.over)
    return told[:MOST_CARDS]


def _after(line: str, uci: str, side: str) -> str:
    """The position after a move, with the move marked."""
    board = parse_position(line).board()
    move = board.push_uci(uci)
    return diagram(board, side, Marks(move), standalone=False)


def _before(line: str, side: str, uci: str | None = None) -> str:
    """The position after a line; an arrow shows a move to come."""
    board = parse_position(line).board()
    last = board.peek() if board.move_stack else None
    moves = [chess.Move.from_uci(uci)] if uci else []
    arrows = tuple((move.from_square, move.to_square) for move in moves)
    return diagram(board, side, Marks(last, arrows), standalone=False)


def _cost(one: Cost, letters: str | None) -> Told:
    better = numbered(one.line, one.favoured.san, letters)
    size = words.hundredths(one.difference.value).removesuffix(".0")
    says = [
        f"{_where(one.line, letters)} you played it in {often(one.own)} games. For "
        f"{players_of(one.favoured.level)} it scores {size} points in 100 games less than "
        f"{better}.",
        f"In 100 games of yours with {words.side(one.side)} that would be about {_lost(one)}.",
        over_now(one.last, one.since_then) if one.over else f"To practise: {better}.",
    ]
    return Told(
        heading=numbered(one.line, one.san, letters),
        drawing=_after(one.line, one.uci, one.side),
        says=tuple(says),
        over=one.over,
    )


def _where(line: str, letters: str | None) -> str:
    return f"After {words.spelled(line, letters)}" if line else "At the start"


def _lost(one: Cost) -> str:
    told = f"{one.lost:.1f} points"
    if one.lost_low is None or one.lost_high is None:
        return told
    return f"{told} ({one.lost_low:.1f} to {one.lost_high:.1f})"


def _made(one: OwnMistake, letters: str | None) -> Told:
    says = [
        f"{_where(one.line, letters)} you played it {times(one.own.cases)}, of {one.own.games} "
        f"chances{_beside(one)}. Many players of your level lose points with it."
    ]
    if one.over:
        says.append(over_now(one.last, one.since_then))
    elif one.answer:
        says.append(f"To practise: {numbered(one.line, one.answer, letters)}.")
    return Told(
        heading=numbered(one.line, one.costly.san, letters),
        drawing=_after(one.line, one.costly.uci, one.side),
        says=tuple(says),
        over=one.over,
    )


def _beside(one: OwnMistake) -> str:
    """``; the others in 17 % of 520``."""
    if one.others.few or one.others.share is None:
        return ""
    return f"; the others in {words.percent(one.others.share)} of {one.others.games:,}"


def _missed(one: OwnMistake, letters: str | None) -> Told:
    answer = numbered(one.line, one.answer or "", letters)
    wrong = _last(one.line, letters)
    says = [
        f"Your opponents gave you this chance {times(one.own.games)}; you took it "
        f"{times(one.own.cases) if one.own.cases else 'in none of them'}{_beside(one)}."
    ]
    says.append(found_now(one.last, one.since_then) if one.over else f"To practise: {answer}.")
    return Told(
        heading=f"{wrong} – a chance for you",
        drawing=_before(one.line, one.side),
        says=tuple(says),
        over=one.over,
    )


def _last(line: str, letters: str | None) -> str:
    """The last move of a line with its number."""
    sans = sans_of(line)
    return from_ply(sans[-1:], len(sans) - 1, letters)


def left(lesson: AgainstLesson | None) -> str:
    """The position in which the lesson was left most often, with the taught move as an arrow."""
    told = [one for one in lesson.by_student if one.kind != "alternative"] if lesson else []
    if not told or lesson is None:
        return ""
    board = parse_position(told[0].line).board()
    taught = board.parse_san(told[0].instead[0]).uci() if told[0].instead else None
    return _before(told[0].line, lesson.side, taught)


def tasks(practise: Sequence[Practise], letters: str | None) -> Iterator[Task]:
    """What to practise next, as exercises."""
    for number, one in enumerate(practise, start=1):
        board = parse_position(one.line).board()
        sans = []
        for uci in one.solution:
            sans.append(board.san(chess.Move.from_uci(uci)))
            board.push_uci(uci)
        yield Task(
            number=number,
            drawing=_before(one.line, one.side),
            turn=f"{words.side(one.side)} to move",
            says=tuple(_asked(one, letters)),
            answer=from_ply(sans, len(sans_of(one.line)), letters),
        )


def _asked(one: Practise, letters: str | None) -> Iterator[str]:
    if one.line:
        other = "Black" if one.side == "white" else "White"
        yield f"{other} has just played {_last(one.line, letters)}."
    yield f"{_went(one, letters)} {TASKS[one.kind]}"


def _went(one: Practise, letters: str | None) -> str:
    """How often it went wrong, and with which move."""
    many = f"In {often(one.own)} games"
    if one.played is None or one.kind == "punish":
        return f"{many} the chance was missed."
    played = numbered(one.line, one.played, letters)
    if one.kind == "lesson":
        return f"{many} you left the lesson here, mostly with {played}."
    return f"{many} you played {played}."


def turns(games: Sequence[ShortGame], letters: str | None) -> Iterator[Told]:
    """Short games, each with the position in which it turned and the move as an arrow."""
    for game in [one for one in games if one.line is not None][:MOST_GAMES]:
        assert game.line is not None
        assert game.turn is not None
        board = parse_position(game.line).board()
        uci = board.parse_san(game.turn).uci()
        yield Told(
            heading=_ended(game),
            drawing=_before(game.line, game.side, uci),
            says=tuple(_turned(game, letters)),
        )


def _ended(game: ShortGame) -> str:
    """``Won with White in 14 moves, by mate``."""
    won = "Won" if game.won else "Lost"
    mate = ", by mate" if game.row.ended_by_mate else ""
    moves = words.count(game.row.moves, "move")
    return f"{won} with {words.side(game.side)} in {moves}{mate}"


def _turned(game: ShortGame, letters: str | None) -> Iterator[str]:
    assert game.line is not None
    assert game.turn is not None
    who = "your opponent played" if game.won else "you played"  # the loser's move
    move = numbered(game.line, game.turn, letters)
    lost = (
        f", which lost material worth {words.pawns(game.swing)}"
        if game.swing
        else ", and mate followed"
    )
    day = when(game.row.date)
    yield f"{f'{day}: ' if day else ''}here {who} {move}{lost}."
    moves = numbered_line(game.row.sans[: 2 * MOST_MOVES], game.row.start_fen)
    more = " ..." if len(game.row.sans) > 2 * MOST_MOVES else ""
    yield words.spelled(moves, letters) + more
