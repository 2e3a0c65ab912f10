"""A library of random games beside a slow recount of the same games."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from random import Random

import chess

from explorer.positions.position import Position, position_of
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from ingest.levels import UNRATED, Level
from ingest.pipeline import AddOptions, add_collection
from tests.support.random_games import NAMES, Record, random_records
from tests.support.recount import Recount

PLIES = 12
LEVELS = (Level(None, 999), Level(1000, 1499), Level(1400, 1800), Level(1800, None), UNRATED)


@dataclass
class World:
    records: list[Record]
    library: Library
    recount: Recount
    random: Random
    seed: int

    def position(self) -> Position:
        """A position of some game, mostly early, now and then one step aside."""
        record = self.random.choice(self.records)
        board = chess.Board(record.start)
        for move in record.moves[: self.random.choice((0, 1, 1, 2, 2, 3, 4, 5, 7, 11))]:
            board.push(move)
        if self.random.random() < 0.2 and any(board.legal_moves):
            board.push(self.random.choice(list(board.legal_moves)))
        return position_of(board)

    def filters(self) -> Filters:
        """Up to four filters at once."""
        draw = self.random
        every = {
            "levels": tuple(draw.sample(LEVELS, draw.randint(1, 2))),
            "opponents": tuple(draw.sample(LEVELS, 1)),
            "pace": tuple(draw.sample(("blitz", "rapid", "standard", "unknown"), 2)),
            "since": draw.choice((date(2023, 5, 1), date(2024, 3, 1))),
            "until": draw.choice((date(2024, 3, 15), date(2025, 1, 1))),
            "collections": draw.choice((("club",), ("school",), ("club", "school"))),
            "player": draw.choice(NAMES[:5]),
            "cuts": draw.choice(((900, 1300, 1700), (1500,))),
        }
        names = draw.sample(list(every), draw.choice((0, 1, 1, 2, 4)))
        side = draw.choice((None, "white", "black")) if "player" in names else None
        return Filters(side=side, **{name: every[name] for name in names})  # type: ignore[arg-type]


def make_world(folder: Path, seed: int, names: Sequence[str] = ("club", "school")) -> World:
    records = random_records(seed, 250)
    for name in names:
        file = folder / f"{name}.pgn"
        file.write_text("".join(r.pgn for r in records if name in r.collections), "utf-8")
        add_collection(folder / "games.db", [str(file)], name, AddOptions(plies=PLIES))
    library = open_library(folder / "games.db")
    return World(records, library, Recount(records, PLIES), Random(seed), seed)
