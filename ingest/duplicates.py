"""Which records are one game: fingerprints, and the rule that decides.

Two records are one game when both players are named and the same, result and
whole mainline are the same, and their dates agree as far as both give one; a
mainline under ten plies only within the same event and round as well. All but
the date is in the fingerprint, a hash keyed with a secret of the library.
Taking 64-bit hashes for the thing itself errs once in millions of libraries.

"Agree as far as both give one" is not transitive, so the outcome is defined
over all records of a fingerprint, whatever order they come in:

- a date refines another that it repeats and adds to; the dates that no other
  refines are the games;
- a vaguer record stands under the earliest game that refines it;
- a game's tags are those of the first record with its full date, by (SHA-256
  of the file, number in it); of one file read twice, the one given more
  options.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import blake2b
from typing import Any

import duckdb
import numpy as np
from numpy.typing import NDArray

from ingest.replay import Batch
from ingest.tags import Names, TagColumns

U64 = NDArray[np.uint64]
I64 = NDArray[np.int64]
I32 = NDArray[np.int32]
Bools = NDArray[np.bool_]

# The date of a game or record as a number, as `date_codes` has it.
DATE_CODE = (
    "(coalesce(year, 0)::INTEGER * 10000 + coalesce(month, 0)::INTEGER * 100 "
    "+ coalesce(day, 0)::INTEGER)"
)

SHORT_GAME = 10  # plies; below it event and round must agree too
SHA_DIGITS = 64
_CACHED = 1 << 17


def date_codes(year: NDArray[np.uint16], month: NDArray[np.uint8], day: NDArray[np.uint8]) -> I32:
    """Dates as YYYYMMDD, with zeros for what is not given."""
    return year.astype(np.int32) * 10000 + month.astype(np.int32) * 100 + day


def refines(fuller: int, vaguer: int) -> bool:
    """Whether a date code repeats the other and perhaps adds to it."""
    if vaguer == 0 or fuller == vaguer:
        return True
    if vaguer % 10000 == 0:
        return fuller // 10000 == vaguer // 10000
    return vaguer % 100 == 0 and fuller // 100 == vaguer // 100


def _mixed(values: U64) -> U64:
    """Scatter 64-bit numbers (the finaliser of splitmix64, public domain)."""
    values = values ^ (values >> np.uint64(30))
    values *= np.uint64(0xBF58476D1CE4E5B9)
    values ^= values >> np.uint64(27)
    values *= np.uint64(0x94D049BB133111EB)
    values ^= values >> np.uint64(31)
    return values


class Fingerprints:
    """The keyed hash of one library."""

    def __init__(self, secret: str) -> None:
        """``secret`` is the library's `fingerprint_key`."""
        self._secret = bytes.fromhex(secret)
        self._text = lru_cache(_CACHED)(self._hashed)

    def _hashed(self, text: str) -> int:
        digest = blake2b(text.encode("utf-8", "surrogatepass"), digest_size=8, key=self._secret)
        return int.from_bytes(digest.digest(), "little")

    def _names(self, colour: str, names: Names) -> U64:
        texts = (f"{colour} {same or ''}" for same in names.same)
        return np.fromiter(map(self._text, texts), np.uint64, len(names.same))[names.of]

    def of(self, batch: Batch, tags: TagColumns, sha256: str, numbers: I64) -> U64:
        """One fingerprint a game. A game with a nameless player equals itself only."""
        prints = self.of_contents(batch, tags)
        for row in np.flatnonzero(~(tags.white.given & tags.black.given)):
            prints[row] ^= np.uint64(self._hashed(f"only {sha256} {numbers[row]}"))
        return prints

    def of_contents(self, batch: Batch, tags: TagColumns) -> U64:
        """The same, with nameless players taken for one: made of what stands in the game alone."""
        white = self._names("white", tags.white)
        black = self._names("black", tags.black)
        plies = np.diff(batch.move_offsets)
        rest = self._movetext(batch) + _mixed(
            (batch.result.astype(np.int64) + 2 + 8 * (batch.cut_ply >= 0)).astype(np.uint64)
            * np.uint64(self._text("result") | 1)
        )
        for row, fen in enumerate(batch.start_fen):
            if fen is not None:
                rest[row] ^= np.uint64(self._text("fen " + " ".join(fen.split()[:4])))
        for row in np.flatnonzero(plies < SHORT_GAME).tolist():
            where = f"{tags.event[row].as_py() or ''}\n{tags.round[row].as_py() or ''}"
            rest[row] ^= np.uint64(self._text("at " + where.casefold()))
        return _mixed(_mixed(white) + _mixed(black) + _mixed(rest))

    def _movetext(self, batch: Batch) -> U64:
        """A hash of every mainline: the sum over its mixed moves and plies."""
        offsets = batch.move_offsets
        ply = np.arange(len(batch.moves), dtype=np.uint64)
        ply -= np.repeat(offsets[:-1], np.diff(offsets)).astype(np.uint64)
        words = batch.moves.astype(np.uint64) | (ply << np.uint64(16))
        total = np.zeros(len(words) + 1, np.uint64)
        np.cumsum(_mixed(words ^ np.uint64(self._text("move"))), out=total[1:])
        sums: U64 = total[offsets[1:]] - total[offsets[:-1]]
        return sums


@dataclass(frozen=True, slots=True)
class _Block:
    """Stored games in order of fingerprint."""

    fingerprint: U64
    game_id: NDArray[np.uint32]
    date: I32
    source: I32  # index into KnownGames.sources
    number: NDArray[np.uint32]

    def arrays(self) -> list[NDArray[Any]]:
        return [self.fingerprint, self.game_id, self.date, self.source, self.number]

    @classmethod
    def of(cls, *arrays: NDArray[Any]) -> _Block:
        order = np.argsort(arrays[0], kind="stable")
        return cls(*(array[order] for array in arrays))


@dataclass(slots=True)
class _Game:
    """A stored game while its fingerprint is being looked at."""

    date: int
    source: int
    number: int
    home: tuple[_Block, int] | None = None  # None: a game of this batch
    row: int = -1  # the row that made it
    tags_of: int = -1  # the row whose tags it takes; -1: as stored


@dataclass(frozen=True, slots=True)
class Verdict:
    """What becomes of the records of a batch, one row each.

    ``game_id`` is the game that the record stands under; ``tags_of`` (new games
    only) the row whose tags it gets. ``replaced`` lists (game_id, row): stored
    games that take that row's tags. ``equals`` says for a duplicate which record
    it equals, (source, number). ``apart`` are new games whose fingerprint has
    games of other dates.
    """

    new: Bools
    game_id: NDArray[np.uint32]
    tags_of: I64
    replaced: list[tuple[int, int]] = field(default_factory=list)
    equals: dict[int, tuple[int, int]] = field(default_factory=dict)
    apart: list[int] = field(default_factory=list)


class KnownGames:
    """The fingerprints of all stored games, in memory while games are being added.

    24 bytes a game, in sorted blocks whose sizes at least double, so that a
    batch costs a few binary searches and seldom a merge.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        """Read them from a library."""
        self.sources: list[str] = [
            source
            for (source,) in connection.execute(
                "SELECT DISTINCT source FROM games ORDER BY source"
            ).fetchall()
        ]
        self._numbered = {source: number for number, source in enumerate(self.sources)}
        connection.execute(
            "CREATE OR REPLACE TEMP TABLE known_sources AS "
            "SELECT source, row_number() OVER (ORDER BY source) - 1 AS number "
            "FROM (SELECT DISTINCT source FROM games)"
        )
        found = connection.execute(
            f"SELECT fingerprint, id, {DATE_CODE} AS date, "
            "number::INTEGER AS source, game_number "
            "FROM games JOIN known_sources USING (source) ORDER BY fingerprint"
        ).fetchnumpy()
        connection.execute("DROP TABLE known_sources")
        kinds = (np.uint64, np.uint32, np.int32, np.int32, np.uint32)
        columns = ("fingerprint", "id", "date", "source", "game_number")
        block = _Block(*(np.asarray(found[c], k) for c, k in zip(columns, kinds, strict=True)))
        self._blocks = [block] if len(block.fingerprint) else []

    def source_number(self, source: str) -> int:
        """The number by which verdicts name a source."""
        if source not in self._numbered:
            self._numbered[source] = len(self.sources)
            self.sources.append(source)
        return self._numbered[source]

    def judge(
        self, fingerprints: U64, dates: I32, numbers: I64, source: int, first_id: int
    ) -> Verdict:
        """Decide for a batch of records of one source, and remember its new games.

        New games are numbered from ``first_id`` in the order of their rows.
        """
        n = len(fingerprints)
        met = self._met_before(fingerprints)
        new, game_id = ~met, np.zeros(n, np.uint32)
        verdict = Verdict(new, game_id, np.arange(n, dtype=np.int64))
        rows = np.flatnonzero(met)
        games = self._stored(np.unique(fingerprints[rows]))
        made: list[_Game] = []
        under: dict[int, _Game] = {}
        for row in rows.tolist():
            record = _Game(int(dates[row]), source, int(numbers[row]), row=row, tags_of=row)
            alike = games.setdefault(int(fingerprints[row]), [])
            game = self._place(alike, record)
            if game is record:
                new[row] = True
                made.append(record)
                alike.append(record)
            else:
                under[row] = game
                verdict.equals[row] = game.source, game.number
                self._take_tags(game, record)
        game_id[new] = np.arange(first_id, first_id + int(new.sum()), dtype=np.uint32)
        for game in made:
            verdict.tags_of[game.row] = game.tags_of
        self._write_back(games, verdict)
        for row, game in under.items():
            game_id[row] = game_id[game.row] if game.home is None else _id_of(game)
        self._remember(fingerprints, dates, numbers, source, verdict)
        return verdict

    def _met_before(self, fingerprints: U64) -> Bools:
        """Rows whose fingerprint is stored, or comes more than once in the batch."""
        order = np.argsort(fingerprints, kind="stable")
        in_order = fingerprints[order]
        again = in_order[1:] == in_order[:-1]
        met = np.zeros(len(fingerprints), np.bool_)
        met[order[1:][again]] = True
        met[order[:-1][again]] = True
        for block in self._blocks:
            at = np.searchsorted(block.fingerprint, in_order)
            at[at == len(block.fingerprint)] = 0
            met[order[block.fingerprint[at] == in_order]] = True
        return met

    def _stored(self, wanted: U64) -> dict[int, list[_Game]]:
        games: dict[int, list[_Game]] = {}
        for block in self._blocks:
            low = np.searchsorted(block.fingerprint, wanted, "left")
            high = np.searchsorted(block.fingerprint, wanted, "right")
            for i in np.flatnonzero(high > low).tolist():
                for at in range(int(low[i]), int(high[i])):
                    game = _Game(int(block.date[at]), int(block.source[at]), int(block.number[at]))
                    game.home = (block, at)
                    games.setdefault(int(wanted[i]), []).append(game)
        return games

    @staticmethod
    def _place(alike: list[_Game], record: _Game) -> _Game:
        """The game that a record stands under; the record itself when it is a new one."""
        fuller = [game for game in alike if refines(game.date, record.date)]
        if fuller:
            return min(fuller, key=lambda game: game.date)
        # No date refines two that differ, so there is one at most.
        return next((game for game in alike if refines(record.date, game.date)), record)

    def _take_tags(self, game: _Game, record: _Game) -> None:
        """Let a duplicate's tags win where the rule says so."""
        if game.date != record.date:
            wins = refines(record.date, game.date)
        else:
            wins = self._before(record, game)
        if wins:
            game.date, game.source, game.number = record.date, record.source, record.number
            game.tags_of = record.row

    def _before(self, one: _Game, other: _Game) -> bool:
        first, second = self.sources[one.source], self.sources[other.source]
        ranks = (first[:SHA_DIGITS], one.number), (second[:SHA_DIGITS], other.number)
        if ranks[0] != ranks[1]:
            return ranks[0] < ranks[1]
        return first[SHA_DIGITS:] > second[SHA_DIGITS:]

    @staticmethod
    def _write_back(games: dict[int, list[_Game]], verdict: Verdict) -> None:
        """Keep what changed about stored games, and see which new ones stand beside others."""
        for alike in games.values():
            for game in alike:
                if game.home is None:
                    if len(alike) > 1:
                        verdict.apart.append(int(verdict.game_id[game.row]))
                elif game.tags_of >= 0:
                    block, at = game.home
                    block.date[at], block.source[at] = game.date, game.source
                    block.number[at] = game.number
                    verdict.replaced.append((_id_of(game), game.tags_of))

    def _remember(
        self, fingerprints: U64, dates: I32, numbers: I64, source: int, verdict: Verdict
    ) -> None:
        rows = np.flatnonzero(verdict.new)
        if not len(rows):
            return
        tags_of = verdict.tags_of[rows]
        block = _Block.of(
            fingerprints[rows],
            verdict.game_id[rows],
            dates[tags_of],
            np.full(len(rows), source, np.int32),
            numbers[tags_of].astype(np.uint32),
        )
        self._blocks.append(block)
        while len(self._blocks) > 1 and len(self._blocks[-2].fingerprint) <= 2 * len(
            self._blocks[-1].fingerprint
        ):
            last, before = self._blocks.pop(), self._blocks.pop()
            pairs = zip(before.arrays(), last.arrays(), strict=True)
            self._blocks.append(_Block.of(*(np.concatenate(pair) for pair in pairs)))


def _id_of(game: _Game) -> int:
    block, at = game.home  # type: ignore[misc]
    return int(block.game_id[at])
