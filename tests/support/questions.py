"""Random questions to a library, for asking the same of it in every form that it can have."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from random import Random
from typing import Any

import chess

from explorer.positions.position import Position, position_of
from explorer.query.costly import costly
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.mistake import mistake
from explorer.query.moves import unpack
from explorer.query.replies import replies
from ingest.errors import ReplybookError
from ingest.levels import Level
from ingest.pipeline import add_collection
from tests.support.random_games import Record
from tests.support.random_world import World
from tests.support.recount import Recount

SAMPLES = Path(__file__).parents[2] / "sample_games"
CLOSE = 1e-12
LEVELS = (Level(None, 799), Level(800, 1199), Level(1000, 1600), Level(1600, None))


@dataclass(frozen=True)
class Question:
    """One question to a library: what is asked, of which position, with which limits."""

    ask: Callable[..., Any]
    position: Position
    filters: Filters
    limits: tuple[tuple[str, Any], ...] = ()

    def answer(self, library: Library) -> Any:
        """The answer, or the kind and the line of the error that says why there is none."""
        try:
            return self.ask(library, self.position, self.filters, **dict(self.limits))
        except ReplybookError as error:
            return type(error).__name__, str(error)


class SampleWorld(World):
    """The sample games, with filters that suit them."""

    def filters(self) -> Filters:
        draw = self.random
        every = {
            "levels": tuple(draw.sample(LEVELS, 1)),
            "opponents": tuple(draw.sample(LEVELS, 2)),
            "pace": ("rapid",),
            "collections": draw.choice((("club season",), ("junior cup", "student"))),
        }
        names = draw.sample(list(every), draw.choice((0, 0, 1, 2)))
        return Filters(**{name: every[name] for name in names})  # type: ignore[arg-type]


def sample_library(folder: Path) -> Path:
    """A library of the sample games."""
    library = folder / "samples.duckdb"
    for name in ("club season", "junior cup", "student"):
        file = SAMPLES / f"{name.replace(' ', '_')}.pgn.gz"
        add_collection(library, [str(file)], name)
    return library


def sample_world(library: Path, seed: int) -> World:
    """Questions about positions of the sample games."""
    opened = open_library(library)
    with opened.reading() as (cursor, _):
        rows = cursor.execute("SELECT mainline[1:16] FROM games ORDER BY id LIMIT 2000").fetchall()
    records = [
        Record(
            number=number,
            white=None,
            black=None,
            white_rating=None,
            black_rating=None,
            result="*",
            date="????.??.??",
            control="?",
            start=chess.STARTING_FEN,
            moves=tuple(map(unpack, moves)),
        )
        for number, (moves,) in enumerate(rows)
    ]
    return SampleWorld(records, opened, Recount([], 0), Random(seed), seed)


def questions(world: World, kinds: dict[str, int]) -> Iterator[Question]:
    """So many random questions of each kind."""
    for kind, number in kinds.items():
        make = {"replies": _replies, "mistake": _mistake, "costly": _costly}[kind]
        for _ in range(number):
            yield make(world)


def _replies(world: World) -> Question:
    by = world.random.choice(("level", "level", "season", "pace", "collection", "opponents"))
    return Question(replies, world.position(), replace(world.filters(), by=by))


def _mistake(world: World) -> Question:
    record = world.random.choice([record for record in world.records if record.moves])
    board = chess.Board(record.start)
    for move in record.moves[: world.random.choice((1, 2, 3, 4, 6))]:
        board.push(move)
    return Question(mistake, position_of(board), world.filters())


def _costly(world: World) -> Question:
    """With limits so loose that something is found."""
    position = world.position() if world.random.random() < 0.5 else position_of(chess.Board())
    limits = {"min_games": 30, "false_alarms": 40.0, "at_least": 0.0, "top": 4, "to_move": 4}
    return Question(costly, position, replace(world.filters(), side=None), tuple(limits.items()))


def differences(one: Any, other: Any, place: str = "") -> list[str]:
    """Where two answers differ: counts and words at all, other numbers by more than CLOSE."""
    if is_dataclass(one) and type(one) is type(other):
        return [
            line
            for field in fields(one)
            for line in differences(
                getattr(one, field.name), getattr(other, field.name), f"{place}.{field.name}"
            )
        ]
    if isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        return [
            line
            for number, pair in enumerate(zip(one, other, strict=True))
            for line in differences(*pair, f"{place}[{number}]")
        ]
    if isinstance(one, float) and isinstance(other, float):
        alike = math.isclose(one, other, rel_tol=CLOSE, abs_tol=CLOSE)
    else:
        alike = type(one) is type(other) and one == other
    return [] if alike else [f"{place}: {one!r}, {other!r}"]
