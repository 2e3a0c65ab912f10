"""DuckDB's SQL in the words of Spark, and types that go there and back."""

from __future__ import annotations

from datetime import date

import pyarrow as pa
import pytest

from explorer.query.translate import for_spark, from_spark, translated, type_in_spark

TRANSLATIONS = [
    ("SELECT a // 2, a % 2", None, "SELECT a DIV 2, a % 2"),
    ("SELECT array_slice(m, 1, ply + 1)", None, "SELECT SLICE(m, 1, ply + 1)"),
    ("SELECT array_length(m)", None, "SELECT SIZE(m)"),
    (
        "SELECT c[7 + CASE WHEN x > 1 THEN x::INTEGER ELSE 2 END]",
        {},
        "SELECT c[6 + CASE WHEN x > 1 THEN CAST(x AS INT) ELSE 2 END]",
    ),
    ("SELECT x FROM t ORDER BY x", None, "SELECT x FROM t ORDER BY x NULLS LAST"),
    ("SELECT max(x) FILTER (y)", None, "SELECT MAX(x) FILTER(WHERE y)"),
    ("SELECT a::UTINYINT, b::USMALLINT", None, "SELECT CAST(a AS SMALLINT), CAST(b AS INT)"),
    ("SELECT c::UINTEGER", None, "SELECT CAST(c AS BIGINT)"),
    ("SELECT d::UBIGINT", None, "SELECT CAST(d AS DECIMAL(20, 0))"),
    (
        "SELECT datediff('day', DATE '1970-01-01', d)",
        None,
        "SELECT DATEDIFF(DAY, CAST('1970-01-01' AS DATE), d)",
    ),
    (
        "WITH a AS MATERIALIZED (SELECT 1 AS x) SELECT * FROM a",
        None,
        "WITH a AS (SELECT 1 AS x) SELECT * FROM a",
    ),
    ("SELECT $2, $1", [1, "it's \\"], "SELECT 'it\\'s \\\\', 1"),
    ("SELECT $a, $b", {"a": None, "b": -7}, "SELECT NULL, -7"),
    ("SELECT $k", {"k": 1 << 63}, "SELECT 9223372036854775808"),
    ("SELECT $d", {"d": date(2025, 9, 1)}, "SELECT CAST('2025-09-01' AS DATE)"),
    (
        "SELECT x IN (SELECT unnest($1))",
        [["a", "b'"]],
        "SELECT x IN (SELECT EXPLODE(ARRAY('a', 'b\\'')))",
    ),
]


@pytest.mark.parametrize(("sql", "params", "expected"), TRANSLATIONS)
def test_what_duckdb_says_spark_says_so(sql, params, expected) -> None:
    """Each construct that the queries use has its word; values stand in their place."""
    assert translated(sql, params).sql == expected


@pytest.mark.parametrize("sql", ["SELECT c[i]", "SELECT c[1:i]"])
def test_an_index_that_may_be_one_too_high_is_refused(sql: str) -> None:
    """Lists are counted from 1 by DuckDB and from 0 by Spark; where that is not seen, no answer."""
    with pytest.raises(AssertionError, match="only an index that is seen to be a number"):
        translated(sql, None)


def test_a_table_that_is_made_is_told_apart() -> None:
    """A statement says which table it makes and which it reads, its own CTEs left out."""
    found = translated(
        "CREATE OR REPLACE TEMP TABLE made AS WITH a AS (SELECT * FROM visits) "
        "SELECT * FROM a JOIN (SELECT id FROM games) g ON a.game_id = g.id",
        None,
    )
    assert found.made == "made"
    assert found.tables == {"visits", "games"}
    assert found.sql.startswith("WITH a AS (SELECT * FROM visits) SELECT * FROM a")
    assert translated("SELECT 1", None).made is None


def test_a_statement_asked_twice_has_the_values_of_each() -> None:
    """What was translated before does not keep its values."""
    assert translated("SELECT $1", [1]).sql == "SELECT 1"
    assert translated("SELECT $1", [2]).sql == "SELECT 2"


def test_types_go_to_spark_and_back() -> None:
    """Numbers without a sign become wider ones and come back as they were."""
    table = pa.table(
        {
            "key": pa.array([0, (1 << 64) - 1, None], pa.uint64()),
            "id": pa.array([0, (1 << 32) - 1, None], pa.uint32()),
            "move": pa.array([0, 65535, None], pa.uint16()),
            "ply": pa.array([0, 255, None], pa.uint8()),
            "moves": pa.array([[], [1, 65535], None], pa.list_(pa.uint16())),
            "word": pa.array(["", "a", None]),
        }
    )
    there = for_spark(table)
    assert [type_in_spark(field.type) for field in table.schema] == [
        "DECIMAL(20, 0)",
        "BIGINT",
        "INT",
        "SMALLINT",
        "ARRAY<INT>",
        "STRING",
    ]
    renamed = there.rename_columns([f"c{number}" for number in range(6)])
    assert from_spark(renamed, table.schema) == table
