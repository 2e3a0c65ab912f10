"""Where in a dataset a key lies, said beside each condition that fixes a key.

``key = 1`` becomes ``(key = 1 AND part = 0 AND signed_key = 1)``, and ranges and lists of
keys likewise. What is added follows from what was there, so no answer depends on it; it
lets an engine pass over whole files, and over parts of a file by its statistics.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from duckdb import DuckDBPyConnection, DuckDBPyRelation

from ingest.dataset import part_of, signed

Params = Mapping[str, Any] | Sequence[Any] | None

_ONE = re.compile(r"\bkey = (\$\w+|\d+)\b")
_RANGE = re.compile(r"\bkey BETWEEN (\d+) AND (\d+)\b")
_LIST = re.compile(r"\bkey IN \((\d+(?:, \d+)*)\)")


def narrowed(sql: str, params: Params, key_bits: int) -> str:
    """The SQL with the places of the keys that it fixes."""

    def one(found: re.Match[str]) -> str:
        key = _value(found[1], params)
        return f"({found[0]} AND {_place([key], key_bits)})"

    def between(found: re.Match[str]) -> str:
        first, last = int(found[1]), int(found[2])
        parts = f"part BETWEEN {part_of(first, key_bits)} AND {part_of(last, key_bits)}"
        if first >> 63 != last >> 63:  # the signs turn within the range
            return f"({found[0]} AND {parts})"
        keys = f"signed_key BETWEEN {signed(first)} AND {signed(last)}"
        return f"({found[0]} AND {parts} AND {keys})"

    def listed(found: re.Match[str]) -> str:
        keys = [int(key) for key in found[1].split(", ")]
        return f"({found[0]} AND {_place(keys, key_bits)})"

    return _LIST.sub(listed, _RANGE.sub(between, _ONE.sub(one, sql)))


def _value(text: str, params: Params) -> int:
    if not text.startswith("$"):
        return int(text)
    name = text[1:]
    if isinstance(params, Mapping):
        return int(params[name])
    return int((params or ())[int(name) - 1])


def _place(keys: Sequence[int], key_bits: int) -> str:
    parts = ", ".join(str(part) for part in sorted({part_of(key, key_bits) for key in keys}))
    numbers = ", ".join(str(signed(key)) for key in keys)
    if len(keys) == 1:
        return f"part = {parts} AND signed_key = {numbers}"
    return f"part IN ({parts}) AND signed_key IN ({numbers})"


class Pruned:
    """DuckDB's connection to the tables of a dataset, or a cursor of it, with `narrowed` SQL."""

    def __init__(self, connection: DuckDBPyConnection, key_bits: int) -> None:
        """Takes the connection over."""
        self._connection, self._key_bits = connection, key_bits

    def execute(self, sql: str, params: Params = None) -> DuckDBPyConnection:
        """As DuckDB has it."""
        return self._connection.execute(narrowed(sql, params, self._key_bits), params)

    def sql(self, sql: str, *, params: Params = None) -> DuckDBPyRelation:
        """As DuckDB has it."""
        return self._connection.sql(narrowed(sql, params, self._key_bits), params=params)

    def cursor(self) -> Pruned:
        """Another one to the same tables, with temporary ones of its own."""
        return Pruned(self._connection.cursor(), self._key_bits)

    def close(self) -> None:
        """As DuckDB has it."""
        self._connection.close()

    def interrupt(self) -> None:
        """As DuckDB has it."""
        self._connection.interrupt()

    def __enter__(self) -> Pruned:
        """Itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close it."""
        self.close()
