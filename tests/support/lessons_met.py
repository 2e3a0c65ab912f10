"""A small lesson and what a library says of it, made by hand. All of it is invented."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import replace

import chess
import chess.pgn

from explorer.positions.lesson import Lesson, lesson_of
from explorer.query.filters import Filters
from explorer.query.lesson_met import LessonMet, Replies
from explorer.query.lesson_model import (
    Added,
    Favoured,
    LessonAnswer,
    Outscored,
    RareLine,
    States,
    StatesAt,
    Unanswered,
)
from explorer.query.mistake_model import Difference
from ingest.levels import parse_level
from ingest.poskey import key_of
from tests.support.answers import make_source

TEXT = """[Event "The first <replies>"]

{ Begin here. } 1. e4 e5 ( 1... c5 { Common <b>here</b>. } 2. Nf3 d6
( 2... Nc6 3. Bb5 ) 3. d4 { Open it: Nf3 waits. } )
2. Nf3 { [%cal Gf3e5] Hits e5. } ( 2. Bc4 { Also sound. } )
( 2. Qh5 $2 { Too early. } 2... Nc6 3. Bc4 $1 g6 )
2... Nc6 ( 2... f6 $4 3. Nxe5 fxe5 4. Qh5+ Ke7 ( 4... g6 5. Qxe5+ ) 5. Qxe5+ )
3. Bc4 Bc5 4. c3 *
"""


def make_lesson(text: str = TEXT, side: str = "white") -> Lesson:
    """The lesson in a PGN text."""
    games = []
    source = io.StringIO(text)
    while game := chess.pgn.read_game(source):
        games.append(game)
    return lesson_of(games, "first.pgn", side)


def key_after(line: str) -> int:
    """The position after SAN moves."""
    board = chess.Board()
    for san in line.split():
        board.push_san(san)
    return key_of(board)


def make_replies(
    games: Mapping[str, int], of: int, players: int = 50, borrowed: bool = False
) -> Replies:
    return Replies(games, of, players, borrowed)


AFTER_E4 = "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1"
FRENCH = Unanswered(
    line="1. e4", fen=AFTER_E4, san="e6", uci="e7e6", move=2, reached=100.0, in_100=12.25, low=8.1,
    high=18.2, share=0.1225, games=49, players=40, of=400, of_players=150, score=0.55,
    borrowed=False, name="French Defence",
    answer=Favoured("d4", "d2d4", 31, 30, 0.6, -0.02, "800-1199"),
)  # fmt: skip
RARE = replace(
    FRENCH, san="Nh6", uci="g8h6", in_100=0.04, low=None, high=None, share=0.05, games=1, of=20,
    borrowed=True, answer=None, name=None, score=None,
)  # fmt: skip


def make_states(answered: float, won: float = 0.0) -> tuple[States, ...]:
    """Moves 1 to 6."""
    shares = (1.0, 0.83, 0.5, answered, answered, answered / 2)
    found = []
    for move, share in enumerate(shares, start=1):
        rest = 1 - share
        has_won = won if rest > won else 0.0
        ended, few = (0.04 * rest, 0.02 * rest) if move > 3 else (0.0, 0.0)
        about = (share - 0.05, min(1.0, share + 0.05)) if move > 1 else (None, None)
        left = rest - has_won - ended - few
        found.append(States(move, share - 0.0, has_won, ended, left, few, share + has_won, *about))
    return tuple(found)


def make_answer(**changes: object) -> LessonAnswer:
    """What the lesson answers, with something of everything."""
    level = parse_level("1200-1399")
    answer = LessonAnswer(
        lesson="first.pgn",
        title="The first <replies>",
        side="white",
        start="",
        filters=Filters(levels=(parse_level("800-1199"),)),
        source=make_source(),
        to_move=6,
        min_games=30,
        positions=8,
        levels=(
            StatesAt("800-999", 800, 999, 180, make_states(0.3), 2),
            StatesAt("1000-1199", 1000, 1199, 220, make_states(0.4), 2),
            StatesAt("800-1199", None, None, 400, make_states(0.34), 2),
        ),
        unanswered=(FRENCH, RARE),
        unanswered_left_out=3,
        outscored=(
            Outscored("1. e4 e5 2. Nf3 Nc6", "r1bqkbnr/8/8/8/8/8/8/R3K2R w - - 0 1", "Bc4", "Bb5",
                      90, 70, Difference(-0.1, -0.18, -0.02, 90, 70, 0.01, 50, 40), 40.0),
        ),
        rare=(RareLine("1. e4 c5 2. Nf3 Nc6", 4, 0.1),),
        added=(Added(replace(FRENCH, in_100=36.0), 20.0),),
        next_level="1200-1399",
        warnings=(
            "Two moves are taught in one position: Nf3 after 1. e4 e5, and Bc4 after 1. e4 e5; "
            "the first one counts.",
            "Alternatives are not followed: 1. e4 e5 2. Bc4.",
        ),
        next=StatesAt("1200-1399", level.low, level.high, 350, make_states(0.25), 0),
    )  # fmt: skip
    return replace(answer, **changes)  # type: ignore[arg-type]


def make_met(**changes: object) -> LessonMet:
    """How often the positions of `TEXT` are met."""
    met = LessonMet(
        answer=make_answer(),
        replies={
            key_after("e4"): make_replies({"e7e5": 230, "c7c5": 80}, 400),
            key_after("e4 e5 Nf3"): make_replies({"b8c6": 150, "f7f6": 4}, 210),
            key_after("e4 c5 Nf3"): make_replies({"d7d6": 3}, 12, 5),
            key_after("e4 e5 Nf3 f6 Nxe5"): make_replies({}, 0, 0),
            key_after("e4 e5 Nf3 Nc6 Bc4"): make_replies({"f8c5": 60}, 140, 40, borrowed=True),
        },
        in_100={
            key_after(""): 100.0,
            key_after("e4 e5"): 57.5,
            key_after("e4 c5"): 20.0,
            key_after("e4 e5 Nf3 Nc6"): 41.1,
            key_after("e4 e5 Nf3 f6"): 1.1,
            key_after("e4 c5 Nf3 d6"): 5.0,
            key_after("e4 e5 Nf3 Nc6 Bc4 Bc5"): 17.6,
        },
    )
    return replace(met, **changes)  # type: ignore[arg-type]


def long_met(lesson: Lesson) -> LessonMet:
    """A library in which the longest lines of a lesson are met most, and from few games."""
    replies = {
        place.key: make_replies({reply.uci: 8_765 for reply in place.replies}, 23_456, 3, True)
        for place in lesson.places.values()
        if place.replies
    }
    in_100 = {place.key: 40.0 + len(place.line) for place in lesson.taught}
    filters = Filters(
        levels=tuple(map(parse_level, ("800-999", "1200-1399", "1600-1799", "unrated"))),
        pace=("standard", "rapid", "correspondence"),
        collections=("club evenings of the winter season", "school championship"),
    )
    source = replace(make_source(), collections=filters.collections)
    return LessonMet(make_answer(filters=filters, source=source), replies, in_100)
