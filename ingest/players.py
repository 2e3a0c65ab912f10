"""Players' names -> their numbers, one player a name however it is spelt."""

from __future__ import annotations

from collections.abc import Sequence

import duckdb
import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.errors import NothingFound
from ingest.tags import A_PLAYER, Names, named
from ingest.tombstones import Tombstones


def _worse(name: str) -> tuple[bool, str]:
    """Sorts spellings, the best first: not all in one case, then by the alphabet."""
    return name.isupper() or name.islower(), name


class Players:
    """The players of a library, in memory while games are being added; 0 is nobody."""

    def __init__(self, connection: duckdb.DuckDBPyConnection, forgotten: Tombstones) -> None:
        """Read them from a library, and whose names it shall not hold."""
        self._forgotten = forgotten
        rows = connection.execute("SELECT id, name, same FROM players").fetchall()
        self._by_same: dict[str, int] = {same: number for number, _, same in rows}
        self._by_name: dict[str, int] = {name: number for number, name, _ in rows}
        self._names: dict[int, str] = {number: name for number, name, _ in rows}
        self._next = max(self._names, default=0) + 1
        self._new: list[tuple[int, str]] = []  # number, same
        self._respelt: set[int] = set()

    def numbers(self, names: Names) -> NDArray[np.uint32]:
        """The number of each game's player, new ones noted."""
        known = self._by_name
        numbers = [
            known[name] if name in known else self._meet(name, same)
            for name, same in zip(names.name, names.same, strict=True)
        ]
        return np.array(numbers, np.uint32)[names.of]

    def _meet(self, name: str | None, same: str | None) -> int:
        """The number behind a spelling not met before."""
        if name is None or same is None:
            return 0
        stone = self._forgotten.of(same)
        kept, same = (A_PLAYER, stone.same) if stone else (name, same)
        number = self._by_same.get(same)
        if number is None:
            number, self._next = self._next, self._next + 1
            self._by_same[same] = number
            self._names[number] = kept
            self._new.append((number, same))
        elif _worse(kept) < _worse(self._names[number]):
            self._names[number] = kept
            self._respelt.add(number)
        self._by_name[name] = number
        return number

    def save(self, connection: duckdb.DuckDBPyConnection) -> None:
        """Write new players and better spellings."""
        if self._new:
            numbers, sames = zip(*self._new, strict=True)
            self._store(connection, "INSERT INTO players SELECT * FROM met", numbers, sames)
        if respelt := sorted(self._respelt.difference(number for number, _ in self._new)):
            self._store(
                connection,
                "UPDATE players SET name = met.name FROM met WHERE players.id = met.id",
                respelt,
                [""] * len(respelt),
            )
        self._new, self._respelt = [], set()

    def _store(
        self,
        connection: duckdb.DuckDBPyConnection,
        sql: str,
        numbers: Sequence[int],
        sames: Sequence[str],
    ) -> None:
        columns = {
            "id": pa.array(numbers, pa.uint32()),
            "name": pa.array([self._names[number] for number in numbers], pa.string()),
            "same": pa.array(sames, pa.string()),
        }
        met = pa.table(columns)  # noqa: F841 - DuckDB finds it by its name
        connection.execute(sql)


def remember(connection: duckdb.DuckDBPyConnection, forgotten: Tombstones, text: str) -> None:
    """Let a forgotten name be known again, in the spelling given, inside the caller's transaction.

    NothingFound when no such name was forgotten.
    """
    name, same = named(text)
    stone = None if same is None else forgotten.of(same)
    if stone is None:
        raise NothingFound(
            f"--remember {text!r}: no such name was forgotten in this library; leave it out"
        )
    connection.execute("DELETE FROM meta WHERE name = ?", [stone.row[0]])
    connection.execute(
        "UPDATE players SET name = ?, same = ? WHERE same = ?", [name, same, stone.same]
    )
