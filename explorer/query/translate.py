"""The queries' one SQL, written for DuckDB, in the words of Spark: translated as it is asked.

No query has a second form. What differs between the engines in kind is made alike
here: values become literals, and numbers without a sign wider ones with one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import pyarrow as pa
import sqlglot
from sqlglot import exp
from sqlglot.optimizer.annotate_types import annotate_types

from explorer.query.pruning import Params

_CACHED = 512
# Spark has no type without a sign: what its files, literals and answers have instead.
KEY_TYPE = "DECIMAL(20, 0)"
_WIDER = {"UTINYINT": "SMALLINT", "USMALLINT": "INT", "UINT": "BIGINT", "UBIGINT": KEY_TYPE}
_TYPES: dict[pa.DataType, tuple[str, pa.DataType]] = {
    pa.uint8(): ("SMALLINT", pa.int16()),
    pa.uint16(): ("INT", pa.int32()),
    pa.uint32(): ("BIGINT", pa.int64()),
    pa.uint64(): (KEY_TYPE, pa.decimal128(20, 0)),
    pa.int8(): ("TINYINT", pa.int8()),
    pa.int16(): ("SMALLINT", pa.int16()),
    pa.int32(): ("INT", pa.int32()),
    pa.int64(): ("BIGINT", pa.int64()),
    pa.float64(): ("DOUBLE", pa.float64()),
    pa.bool_(): ("BOOLEAN", pa.bool_()),
    pa.date32(): ("DATE", pa.date32()),
    pa.string(): ("STRING", pa.string()),
}


@dataclass(frozen=True, slots=True)
class Translated:
    """A statement for Spark: a SELECT, whose rows go into the temporary table ``made``, if any.

    ``tables`` are those that it reads, without its own CTEs.
    """

    sql: str
    made: str | None
    tables: frozenset[str]


def translated(sql: str, params: Params) -> Translated:
    """A statement of DuckDB's with its parameters, for Spark."""
    tree = _parsed(sql).copy()
    made = None
    if isinstance(tree, exp.Create):
        made = tree.this.name
        tree = tree.expression
    own = {cte.alias for cte in tree.find_all(exp.CTE)}
    tables = frozenset(table.name for table in tree.find_all(exp.Table)) - own
    return Translated(tree.transform(_in_spark, _named(params)).sql("spark"), made, tables)


@lru_cache(_CACHED)
def _parsed(sql: str) -> exp.Expr:
    return sqlglot.parse_one(sql, read="duckdb")


def _named(params: Params) -> dict[str, object]:
    if params is None or isinstance(params, Mapping):
        return dict(params or {})
    return {str(number): value for number, value in enumerate(params, 1)}


def _in_spark(node: exp.Expr, params: dict[str, object]) -> exp.Expr:
    if isinstance(node, exp.Placeholder):
        return exp.convert(params[node.name])
    if isinstance(node, exp.DataType) and (wider := _WIDER.get(node.this.value)):
        return exp.DataType.build(wider)
    if isinstance(node, exp.Bracket) and not _counted(node.expressions[0]):
        raise AssertionError(f"{node}: only an index that is seen to be a number is counted from 0")
    if isinstance(node, exp.CTE):
        node.set("materialized", None)  # Spark decides that itself
    return node


def _counted(index: exp.Expr) -> bool:
    """Whether sqlglot has seen that it is a number, and made it one less: Spark counts from 0."""
    return annotate_types(index.copy()).is_type(*exp.DataType.INTEGER_TYPES)


def type_in_spark(kind: pa.DataType) -> str:
    """The Spark type of a column that Arrow has as ``kind``."""
    if pa.types.is_list(kind):
        return f"ARRAY<{type_in_spark(kind.value_type)}>"
    return _TYPES[kind][0]


def _wider_type(kind: pa.DataType) -> pa.DataType:
    if pa.types.is_list(kind):
        return pa.list_(_wider_type(kind.value_type))
    return _TYPES[kind][1]


def for_spark(table: pa.Table) -> pa.Table:
    """The rows with types that Spark knows."""
    fields = [(field.name, _wider_type(field.type)) for field in table.schema]
    return table.cast(pa.schema(fields))


def from_spark(table: pa.Table, shape: pa.Schema) -> pa.Table:
    """Rows of Spark's with the names and types that DuckDB gives them."""
    return table.rename_columns(shape.names).cast(shape)
