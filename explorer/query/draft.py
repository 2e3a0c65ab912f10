"""`lesson draft`: a first draft of a lesson, from what is met most often."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import chess
from duckdb import DuckDBPyConnection

from explorer.numbers.growing import Growth, objective
from explorer.positions.lesson import Lesson, lesson_of
from explorer.positions.position import Position, fen_of
from explorer.query.draft_answers import Answers, models_above
from explorer.query.draft_lines import Lines, game_of
from explorer.query.draft_model import DraftAnswer, DraftMove, DraftStep, Skipped
from explorer.query.drafting import Drafting
from explorer.query.favoured import label_of
from explorer.query.filters import Filters
from explorer.query.lesson_check import MIN_GAMES, START, TO_MOVE
from explorer.query.lesson_model import States
from explorer.query.lesson_shares import played_at
from explorer.query.library import Facts, Library
from explorer.query.moves import pack
from explorer.query.origin import nothing_found, reached, source_of
from explorer.query.reach import first_turn_of, reach, route_of
from explorer.query.where import where
from ingest.errors import NothingFound, UsageError
from ingest.levels import Level
from ingest.poskey import key_of

POSITIONS = 25
WORTH = 0.5

Never = dict[int, set[int]]


@dataclass(frozen=True, slots=True)
class Wish:
    """What a draft is asked for.

    ``start``: its student's moves are taught, its opponent's answered. At most ``positions``
    are learnt, none that fewer than ``worth`` per cent of the games come to. ``prefer`` has the
    moves to be taken first, each of the ``never`` lines ends with a move not to be taught.
    ``model`` are the levels to learn from (empty: every level); None is one band up, and others
    where it has too few games.
    """

    side: str
    start: Position = START
    positions: int = POSITIONS
    to_move: int = TO_MOVE
    worth: float = WORTH
    prefer: Lesson | None = None
    model: tuple[Level, ...] | None = None
    never: tuple[Position, ...] = ()
    allow_fading: bool = False


def draft(library: Library, filters: Filters, wish: Wish) -> DraftAnswer:
    """A lesson for the games that come to the start, against opponents of ``filters.levels``.

    UsageError for a start or a line that cannot be meant, NothingFound when no game comes to
    the start or nothing can be taught.
    """
    never = _never(wish)
    given = _given(wish, never)
    models = models_above(filters) if wish.model is None else (wish.model,)
    start, students_turn = wish.start, wish.start.to_move == wish.side
    with library.reading() as (cursor, facts):
        chosen = where(cursor, facts, filters, opponent_moves=students_turn)
        games = reached(cursor, start.key, chosen)
        if not games:
            raise nothing_found(cursor, facts, start, chosen)
        answers = Answers(cursor, facts, filters, models, wish.prefer, never, wish.allow_fading)
        drafting = Drafting(start, wish.side, answers, wish.to_move, MIN_GAMES)
        drafting.teach_start(given)
        growth = drafting.grow(wish.positions, wish.worth / 100)
        lines = Lines(drafting, drafting.run(), wish.worth / 100)
        skipped = tuple(_skipped(drafting, growth, lines))
        if not growth.learnt:
            raise _nothing(wish, growth, skipped, label_of(models[0]))
        moves = tuple(lines.moves())
        states = _states(cursor, facts, filters, wish, moves)
        return DraftAnswer(
            side=wish.side,
            start=start.numbered,
            filters=filters,
            source=source_of(cursor, facts, start, filters, chosen),
            games=games,
            to_move=wish.to_move,
            positions=wish.positions,
            worth=wish.worth,
            model_level=label_of(models[0]),
            allow_fading=wish.allow_fading,
            moves=tuple(state.move for state in states),
            steps=tuple(_steps(drafting, growth, lines)),
            states=states,
            objective=sum(state.answered for state in states),
            skipped=skipped,
            stopped=growth.stop.value,
            next_in_100=100 * growth.next,
            lines=moves,
        )


def _never(wish: Wish) -> Never:
    """The packed moves that are never taught, by the key of the position before them."""
    found: Never = {}
    for line in wish.never:
        if not line.ucis:
            raise UsageError(
                "--never: no move in it; write the moves up to the one that is not to be taught"
            )
        board = line.board()
        move = board.pop()
        if board.turn != (wish.side == "white"):
            raise UsageError(
                f"--never {line.numbered}: its last move is the opponent's; end with the move of "
                f"{wish.side.capitalize()} that is not to be taught"
            )
        found.setdefault(key_of(board), set()).add(pack(move))
    return found


def _given(wish: Wish, never: Never) -> dict[int, chess.Move]:
    """The student's moves on the line to the start, by the key of the position before them."""
    start = wish.start
    shown = start.numbered or start.fen
    if not start.from_normal_start:
        raise UsageError(
            f"--start {shown}: a lesson begins at the normal starting position; write the moves "
            "that lead here"
        )
    if not any(start.board().legal_moves):
        raise UsageError(f"--start {shown}: the game is over here; choose an earlier position")
    if wish.to_move < (first := first_turn_of(start, wish.side)):
        raise UsageError(
            f"--to-move {wish.to_move}: the student's first move here is number {first}; write a "
            "higher number"
        )
    found: dict[int, chess.Move] = {}
    board = chess.Board()
    for move in start.board().move_stack:
        key = key_of(board)
        if board.turn == (wish.side == "white"):
            if pack(move) in never.get(key, ()):
                raise UsageError(f"--never: {board.san(move)} is a move of --start {shown}")
            if found.setdefault(key, move) != move:
                raise UsageError(f"--start {shown}: two moves in one position; shorten the line")
        board.push(move)
    return found


def _nothing(wish: Wish, growth: Growth, skipped: tuple[Skipped, ...], model: str) -> NothingFound:
    """Why there is not one position to be learnt."""
    if skipped:
        first = skipped[0]
        here = first.line or "the starting position"
        if first.why == "few":
            return NothingFound(
                f"{here}: no move has enough games of {model} to be taught; choose another "
                "--model-level"
            )
        return NothingFound(
            f"{here}: {first.san} and the other common moves fade with strength or are never to "
            "be taught; add --allow-fading, or name another --start"
        )
    here = wish.start.numbered or "the starting position"
    if growth.next:
        often = f"{100 * growth.next:.2g} of 100 games"
        return NothingFound(
            f"{here}: no position after it is met in more than {often}; lower --worth, or raise "
            "--positions"
        )
    return NothingFound(f"{here}: too few games go on from here to say what opponents play")


def _steps(drafting: Drafting, growth: Growth, lines: Lines) -> Iterator[DraftStep]:
    runs = {learnt.position: learnt for learnt in growth.learnt}
    now, before = growth.begun, objective(growth.begun)
    for position, choice in drafting.choices.items():
        learnt = runs.get(position)
        if learnt is not None:
            before, now = objective(now), learnt.run
        board = drafting.boards[position]
        yield DraftStep(
            line=lines.line_to(position),
            fen=fen_of(board),
            san=board.san(choice.move),
            uci=choice.move.uci(),
            chosen_by=choice.chosen_by,
            level=choice.level,
            games=choice.games,
            players=choice.players,
            of=choice.of,
            share=choice.games / choice.of if choice.of else None,
            rather_than=choice.rather_than,
            reached=learnt.reached if learnt else 1.0,
            adds=objective(now) - before,
            answered=tuple(min(1.0, standing.answered) for standing in now.standings),
        )


def _skipped(drafting: Drafting, growth: Growth, lines: Lines) -> Iterator[Skipped]:
    """The positions for which there is no answer; those most often met first."""
    for position, refusal in sorted(
        drafting.refused.items(), key=lambda item: -growth.passed[item[0]]
    ):
        yield Skipped(
            line=lines.line_to(position),
            fen=fen_of(drafting.boards[position]),
            in_100=100 * growth.passed[position],
            why=refusal.why,
            san=refusal.san,
        )


def _states(
    cursor: DuckDBPyConnection,
    facts: Facts,
    filters: Filters,
    wish: Wish,
    moves: tuple[DraftMove, ...],
) -> tuple[States, ...]:
    """How the games stand: what `lesson_check` says of the file."""
    lesson = lesson_of([game_of(moves)[0]], "the draft", wish.side)
    route = route_of(lesson, wish.start, wish.to_move)
    played = played_at(cursor, facts, list(route.after), filters)
    return reach(route, played.chosen(filters.levels, MIN_GAMES), MIN_GAMES).states()
