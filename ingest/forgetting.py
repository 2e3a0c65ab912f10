"""Taking a player's name out of a library; the games stay.

The library is written anew beside itself, each text cleaned on its way, and put in
place: no block of the new file has ever held the name, and a command that is broken
off leaves the old library whole. What is cleaned, and how, says `tombstones`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import duckdb

from ingest import locks, runs, schema
from ingest.driver import driver_errors
from ingest.duplicates import DATE_CODE, SHA_DIGITS
from ingest.errors import NothingFound, UsageError, shown
from ingest.tags import A_PLAYER, named, same_name
from ingest.tombstones import COLLECTIONS, NAMING_TAGS, NOBODYS, Stone, Tombstones

NEAR_NAMES = 5


@dataclass(frozen=True, slots=True)
class Person:
    """What the library has under one of the names: no game when it stands in texts only.

    ``first`` and ``last`` are dates as YYYYMMDD, zeros for what is not known; None
    when no date is.
    """

    name: str
    games: int
    first: int | None = None
    last: int | None = None
    lowest: int | None = None  # rating
    highest: int | None = None


@dataclass(frozen=True, slots=True)
class Forgotten:
    """What `forget` took out, or would take out.

    ``collections`` are the old and the new names of those that were called after the
    player. What stays: ``alike`` are other players whose names have a word of these
    (with their games, the nearest first), ``holding`` collections in whose names one stands.
    """

    people: tuple[Person, ...]
    collections: tuple[tuple[str, str], ...]
    files: int  # whose names had the name in them
    alike: tuple[tuple[str, int], ...]
    holding: tuple[str, ...]

    @property
    def games(self) -> int:
        """The games of all these people together; one between two of them counts twice."""
        return sum(person.games for person in self.people)


def forget(library: Path, names: Sequence[str]) -> Forgotten:
    """Forget players: each of ``names`` becomes "a player" wherever it stands.

    A later `add` leaves the names out as well. NothingFound, with near names, when one
    is neither a player's nor in any text, UsageError when one names nobody;
    LibraryError and its kinds when the library cannot be changed.
    """
    with locks.held(library), driver_errors(library):
        connection = schema.open_for_writing(library)
        try:
            plan = _plan(connection, names)
            connection.execute("CHECKPOINT")  # the log is emptied, too
        finally:
            connection.close()
        runs.rewrite_library(library, plan.reading)
    return plan.forgotten


def what_to_forget(library: Path, names: Sequence[str]) -> Forgotten:
    """What `forget` would do; raises the same."""
    with driver_errors(library), schema.open_for_reading(library) as connection:
        return _plan(connection, names).forgotten


@dataclass(frozen=True, slots=True)
class _Plan:
    """How the tables are read on their way into the new file."""

    tombstones: Tombstones  # of the names to be forgotten now
    players: Mapping[int, Stone]
    collections: Mapping[int, str]  # new names
    meta: Mapping[str, str]
    forgotten: Forgotten

    def reading(self, connection: duckdb.DuckDBPyConnection) -> dict[str, str]:
        """The SELECTs, with what they need made in the connection."""
        self._functions(connection)
        connection.execute("CREATE TEMP TABLE nameless (id UINTEGER, same VARCHAR)")
        connection.execute("CREATE TEMP TABLE renamed (id UINTEGER, name VARCHAR)")
        connection.execute("CREATE TEMP TABLE known (name VARCHAR, value VARCHAR)")
        for table, rows in (
            ("nameless", [(number, stone.same) for number, stone in self.players.items()]),
            ("renamed", list(self.collections.items())),
            ("known", list(self.meta.items())),
        ):
            if rows:
                connection.executemany(f"INSERT INTO {table} VALUES (?, ?)", rows)
        tags = ", ".join(
            f"tag({tag}, coalesce(white_id, 0), coalesce(black_id, 0)) AS {tag}"
            for tag in NAMING_TAGS
        )
        return {
            "meta": "SELECT * FROM known",
            "players": "SELECT old.players.id, "
            f"if(nameless.id IS NULL, players.name, '{A_PLAYER}'), "
            "coalesce(nameless.same, players.same) "
            "FROM old.players LEFT JOIN nameless USING (id)",
            "collections": "SELECT collections.id, coalesce(renamed.name, collections.name) "
            "FROM old.collections LEFT JOIN renamed USING (id)",
            "games": f"SELECT * REPLACE ({tags}, whole(rating_scale) AS rating_scale, "
            f"source[:{SHA_DIGITS}] || whole(source[{SHA_DIGITS + 1}:]) AS source) "
            "FROM old.games",
            "files": "SELECT * REPLACE (label(name) AS name, whole(options) AS options) "
            "FROM old.files",
            "rejects": "SELECT * REPLACE (reason(kind, reason) AS reason, "
            "excerpt(excerpt) AS excerpt) FROM old.rejects",
        }

    def _functions(self, connection: duckdb.DuckDBPyConnection) -> None:
        stones, players = self.tombstones, self.players

        def tag(text: str, white: int, black: int) -> str:
            return stones.tag(text, players.get(white), players.get(black))

        for name, function, words in (
            ("whole", stones.whole, 1),
            ("label", stones.label, 1),
            ("excerpt", stones.excerpt, 1),
            ("reason", stones.reason, 2),
        ):
            connection.create_function(name, function, ["VARCHAR"] * words, "VARCHAR")
        connection.create_function("tag", tag, ["VARCHAR", "UINTEGER", "UINTEGER"], "VARCHAR")


def _plan(connection: duckdb.DuckDBPyConnection, names: Sequence[str]) -> _Plan:
    meta = schema.read_meta(connection)
    known = Tombstones(meta)
    stones: dict[Stone, int | None] = {}  # and the player, if the name is one's
    people = []
    for text in names:
        number, spelt = _find(connection, text)
        stone = known.carve(spelt)
        if stone.name in known or stone in stones:
            continue
        if number is None and not any(map(known.only([stone]).stands_in, _texts(connection))):
            raise _unknown(connection, text)
        stones[stone] = number
        people.append(_person(connection, number, spelt))
    if not stones:
        raise NothingFound(f"player {names[0]!r}: forgotten already; there is nothing left of it")
    players = {number: stone for stone, number in stones.items() if number is not None}
    return _plan_of(connection, meta, known.only(stones), players, people)


def _plan_of(
    connection: duckdb.DuckDBPyConnection,
    meta: Mapping[str, str],
    now: Tombstones,
    players: Mapping[int, Stone],
    people: Sequence[Person],
) -> _Plan:
    called: dict[int, str] = dict(
        connection.execute("SELECT id, name FROM collections ORDER BY id").fetchall()
    )
    renamed, rows = _renamed(now, called)
    new_names = {called[number]: name for number, name in renamed.items()}
    files = connection.execute("SELECT name FROM files").fetchall()
    forgotten = Forgotten(
        people=tuple(people),
        collections=tuple(new_names.items()),
        files=sum(now.label(name) != name for (name,) in files),
        alike=_alike(connection, now, players),
        holding=tuple(
            name for name in sorted({**called, **renamed}.values()) if now.label(name) != name
        ),
    )
    return _Plan(now, players, renamed, _meta(meta, now, new_names) | rows, forgotten)


def _find(connection: duckdb.DuckDBPyConnection, text: str) -> tuple[int | None, str]:
    """The player of a name, if there is one, and the name as the library spells it.

    UsageError when it names nobody.
    """
    name, same = named(text)
    if name is None:
        raise UsageError(f"{text!r}: names nobody; write a player's name, such as 'Doe, Jane'")
    rows = connection.execute("SELECT id, name FROM players WHERE same = ?", [same]).fetchall()
    return (int(rows[0][0]), str(rows[0][1])) if rows else (None, name)


def _person(connection: duckdb.DuckDBPyConnection, number: int | None, spelt: str) -> Person:
    row = connection.execute(
        "SELECT count(*), min(nullif(date, 0)), max(nullif(date, 0)), min(rating), max(rating) "
        f"FROM (SELECT {DATE_CODE} AS date, if(white_id = $id, white_rating, black_rating) "
        "AS rating FROM games WHERE white_id = $id OR black_id = $id)",
        {"id": number},
    ).fetchall()[0]
    return Person(spelt, *row)


def _unknown(connection: duckdb.DuckDBPyConnection, text: str) -> NothingFound:
    near = connection.execute(
        "SELECT any_value(name), count(*) FROM players "
        "JOIN games ON players.id IN (white_id, black_id) "
        f"WHERE NOT starts_with(same, '{NOBODYS}') GROUP BY same "
        "ORDER BY jaro_winkler_similarity(same, $1) DESC, same LIMIT $2",
        [same_name(text), NEAR_NAMES],
    ).fetchall()
    names = "; ".join(f"{shown(name)} ({games:,})" for name, games in near) or "nobody"
    return NothingFound(
        f"player {shown(text)!r}: no such name in the library; "
        f"the nearest, with their games, are: {names}"
    )


def _texts(connection: duckdb.DuckDBPyConnection) -> Iterator[str]:
    """Every distinct text in which a name may stand."""
    tags = (f"SELECT DISTINCT {tag} FROM games" for tag in (*NAMING_TAGS, "rating_scale"))
    others = (
        "SELECT name FROM collections",
        "SELECT name || '\n' || options FROM files",
        "SELECT DISTINCT reason FROM rejects",
        "SELECT excerpt FROM rejects",
    )
    for sql in (*others, *tags):
        rows = connection.execute(sql)
        while some := rows.fetchmany(10_000):
            yield from (text for (text,) in some if text is not None)


def _renamed(now: Tombstones, called: Mapping[int, str]) -> tuple[dict[int, str], dict[str, str]]:
    """New names of collections by number, and rows of `meta` that remember them."""
    names, renamed, rows = set(called.values()), {}, {}
    for number, name in called.items():
        clean, row = now.collection(name, names)
        if clean != name:
            renamed[number] = clean
            names.add(clean)
        if row:
            rows[row[0]] = row[1]
    return renamed, rows


def _meta(meta: Mapping[str, str], now: Tombstones, renamed: Mapping[str, str]) -> dict[str, str]:
    """`meta` with the new tombstones; names that collections had got before are cleaned."""
    clean = {
        name: renamed.get(value, now.whole(value)) if name.startswith(COLLECTIONS) else value
        for name, value in meta.items()
    }
    return clean | dict(stone.row for stone in now)


def _alike(
    connection: duckdb.DuckDBPyConnection, now: Tombstones, players: Mapping[int, Stone]
) -> tuple[tuple[str, int], ...]:
    """Other players in whose names a word of these stands, with their games."""
    names = connection.execute("SELECT id, name FROM players").fetchall()
    alike = {
        number: name for number, name in names if number not in players and now.label(name) != name
    }
    games = dict(
        connection.execute(
            "SELECT player, count(*) FROM "
            "(SELECT unnest([white_id, black_id]) AS player FROM games) "
            "WHERE player IN (SELECT unnest($1)) GROUP BY player",
            [list(alike)],
        ).fetchall()
    )
    counted = [(name, int(games.get(number, 0))) for number, name in alike.items()]

    def nearest(one: tuple[str, int]) -> tuple[bool, int, int, str]:
        name, games = one
        return now.whole(name) == name, -now.label(name).count(A_PLAYER), -games, name

    return tuple(sorted(counted, key=nearest))
