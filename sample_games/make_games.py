"""Make the sample games again: ``python make_games.py [FOLDER]``.

Everything in them is invented. Needs python-chess alone. The same games come
out whatever the machine, the Python version and the number of processes.
"""

from __future__ import annotations

import gzip
import io
import sys
from itertools import groupby
from multiprocessing import Pool
from pathlib import Path
from random import Random

from club_game import Record, play
from club_people import Person
from club_season import CLUB_FILE, Planned, plan

WIDTH = 79  # characters of a line of moves at most: the export format of the PGN standard


def make(game: Planned) -> str:
    """The PGN text of one planned game, the empty line after it included."""
    rng = Random(game.seed)
    record = play(game, rng)
    tags = "".join(f'[{name} "{value}"]\n' for name, value in _tags(game, record, rng))
    return f"{tags}\n{_wrapped(_tokens(record))}\n\n"


def _tags(game: Planned, record: Record, rng: Random) -> list[tuple[str, str]]:
    """The seven tags of the roster, then the others in the order of their names."""
    others = [
        ("BlackElo", _elo(game.black, game, rng)),
        ("Termination", record.termination),
        ("TimeControl", game.time_control if rng.random() > 0.01 else "?"),
        ("WhiteElo", _elo(game.white, game, rng)),
    ]
    return [
        ("Event", game.event),
        ("Site", game.site),
        ("Date", _date(game, rng)),
        ("Round", game.round),
        ("White", game.white.name),
        ("Black", game.black.name),
        ("Result", record.result),
        *((name, value) for name, value in others if value),
    ]


def _elo(person: Person, game: Planned, rng: Random) -> str:
    """The rating as written; ``-`` for unrated players; now and then nobody wrote it down."""
    if rng.random() < 0.015:
        return ""
    return str(person.rating_on(game.day) or "-")


def _date(game: Planned, rng: Random) -> str:
    """The date as written: in the club's own file one in forty is vague."""
    drawn = rng.random()
    if game.file == CLUB_FILE and drawn < 0.015:
        return f"{game.day:%Y}.??.??"
    if game.file == CLUB_FILE and drawn < 0.025:
        return f"{game.day:%Y.%m}.??"
    return f"{game.day:%Y.%m.%d}"


def _tokens(record: Record) -> list[str]:
    """Moves with their numbers, what is written beside them, and the result."""
    tokens = []
    for ply, san in enumerate(record.moves):
        if ply % 2 == 0:
            tokens.append(f"{ply // 2 + 1}.")
        elif ply - 1 in record.asides:
            tokens.append(f"{ply // 2 + 1}...")
        tokens.append(san)
        for aside in record.asides.get(ply, []):
            tokens.extend(aside.split())
    return [*tokens, record.result]


def _wrapped(tokens: list[str]) -> str:
    """Tokens with blanks between them, in lines of at most WIDTH characters."""
    lines, line = [], ""
    for token in tokens:
        if line and len(line) + 1 + len(token) > WIDTH:
            lines.append(line)
            line = token
        else:
            line = f"{line} {token}" if line else token
    return "\n".join([*lines, line])


def packed(text: str) -> bytes:
    """Text gzipped without name or time, so that the same text gives the same file."""
    buffer = io.BytesIO()
    with gzip.GzipFile(filename="", fileobj=buffer, mode="wb", compresslevel=9, mtime=0) as stream:
        stream.write(text.encode("ascii"))
    return buffer.getvalue()


def main(folder: Path) -> None:
    """Make all games, on all processors, and write the three files."""
    games = plan()
    with Pool() as pool:
        texts = pool.map(make, games, chunksize=25)
    made = zip(games, texts, strict=True)
    for name, group in groupby(made, key=lambda pair: pair[0].file):
        members = [text for _, text in group]
        size = (folder / name).write_bytes(packed("".join(members)))
        print(f"{name}: {len(members)} games, {size} bytes")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
