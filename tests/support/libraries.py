"""Small PGN files of invented games, and libraries made of them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from random import Random

import chess
import duckdb
import pytest

from ingest import reading, schema, unpacking
from ingest.pipeline import AddOptions, AddReport, add_collection
from ingest.verify import verify

LONG = "1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. c3 Nf6 5. d4 exd4 6. cxd4"
SHORT = "1. e4 e5 2. Qh5 Nc6 3. Bc4 Nf6 4. Qxf7#"


@dataclass(frozen=True)
class Game:
    """One game as a club writes it down."""

    white: str = "Vane, Amber"
    black: str = "Olander, Birk"
    date: str = "2024.05.06"
    result: str = "1-0"
    moves: str = LONG
    event: str = "Lantern Club Evening"
    round: str = "1"
    white_rating: str = "1200"
    black_rating: str = "1000"
    more: str = ""

    @property
    def pgn(self) -> str:
        """The game in PGN."""
        tags = {
            "Event": self.event,
            "Date": self.date,
            "Round": self.round,
            "White": self.white,
            "Black": self.black,
            "Result": self.result,
            "WhiteElo": self.white_rating,
            "BlackElo": self.black_rating,
        }
        lines = [f'[{name} "{value}"]' for name, value in tags.items()]
        return "\n".join(lines) + f"\n{self.more}\n{self.moves} {self.result}\n\n"


BAD = Game(moves="1. e5 e4", white="Fenn, Dario").pgn
CUT = Game(moves="1. e4 e5 2. Nf3 Nc6 3. Kd4", white="Quill, Edda", result="0-1")


def write(path: Path, *games: Game | str) -> Path:
    """A PGN file of these games, or of texts as they are."""
    path.write_text("".join(game if isinstance(game, str) else game.pgn for game in games))
    return path


def random_games(seed: int, count: int) -> str:
    """Games of any legal moves between invented players, as PGN."""
    random = Random(seed)
    games = []
    for number in range(count):
        board = chess.Board()
        sans = []
        for ply in range(random.randint(1, 60)):
            moves = list(board.legal_moves)
            if not moves:
                break
            move = random.choice(moves if ply > 3 else moves[:3])
            sans.append(board.san_and_push(move))
        game = Game(
            white=f"Player {random.randint(1, 30)}",
            black=f"Player {random.randint(31, 60)}",
            date=random.choice(("2023.05.01", "2024.??.??", "????.??.??")),
            result=random.choice(("1-0", "0-1", "1/2-1/2")),
            moves=" ".join(sans),
            round=str(number),
            white_rating=random.choice(("-", "900", "1500")),
        )
        games.append(game.pgn)
    return "".join(games)


def add(
    library: Path,
    *paths: Path,
    collection: str = "club",
    options: AddOptions | None = None,
) -> AddReport:
    """Add files to a library."""
    return add_collection(library, [str(path) for path in paths], collection, options)


def ask(library: Path, sql: str) -> list[tuple[object, ...]]:
    """The rows of a query."""
    with schema.open_for_reading(library) as connection:
        return connection.execute(sql).fetchall()


def change(library: Path, sql: str) -> None:
    """Damage a library, or bring it into a rare state."""
    with duckdb.connect(str(library)) as connection:
        connection.execute(sql)


def sound(library: Path) -> None:
    """Assert that `verify` finds nothing wrong."""
    assert verify(library).problems == ()


def small_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file of some kilobytes takes several steps."""
    monkeypatch.setattr(reading, "BLOCK_BYTES", 4000)
    monkeypatch.setattr(unpacking, "CHUNK_BYTES", 2000)
