"""The games to measure with: real ones from a folder, else the sample games with changed names."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path

from explorer.cli.place import sample_games
from ingest.sources import find_sources
from ingest.splitter import split


def game_texts(folder: str | None, games: int) -> list[bytes]:
    """That many game texts, fewer when the folder holds fewer."""
    found = _from(folder) if folder else _multiplied()
    return list(itertools.islice(found, games))


def _from(folder: str) -> Iterator[bytes]:
    for source in find_sources([folder]):
        for block in split(source.chunks()):
            for start, end in zip(block.starts.tolist(), block.ends.tolist(), strict=True):
                yield block.text[start:end].strip() + b"\n\n"


def _multiplied() -> Iterator[bytes]:
    """The sample games again and again; each round's players have a number behind the name,
    so that no game is a duplicate."""
    texts = list(_from(str(Path(sample_games()))))
    for round_number in itertools.count(1):
        mark = f' {round_number}"]'.encode()
        for text in texts:
            lines = text.split(b"\n")
            yield b"\n".join(
                line.replace(b'"]', mark) if line.startswith((b"[White ", b"[Black ")) else line
                for line in lines
            )
