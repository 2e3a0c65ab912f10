"""Whether a text still stands in a library: in its bytes, in those beside it, in its tables."""

from __future__ import annotations

import unicodedata
from pathlib import Path

from ingest import schema

ENCODINGS = ("utf-8", "utf-16-le", "utf-16-be", "latin-1", "cp1252")


def found_in(library: Path, *texts: str) -> list[tuple[str, str]]:
    """(where, what) of each of the texts, in any case, encoding and normal form."""
    patterns = {
        (form.encode(encoding, "ignore"), text)
        for text in texts
        for form in _forms(text)
        for encoding in ENCODINGS
        if form.encode(encoding, "ignore").decode(encoding) == form
    }
    found = [
        (path.name, text)
        for path in sorted(library.parent.rglob("*"))
        if library.name in str(path.relative_to(library.parent)) and path.is_file()
        for pattern, text in patterns
        if pattern in path.read_bytes()
    ]
    return found + _in_tables(library, texts)


def _forms(text: str) -> set[str]:
    forms = {unicodedata.normalize(form, text) for form in ("NFC", "NFD", "NFKC", "NFKD")}
    forms |= {form.replace("\\", "\\\\").replace('"', '\\"') for form in forms}
    return forms | {form.casefold() for form in forms} | {form.upper() for form in forms}


def _in_tables(library: Path, texts: tuple[str, ...]) -> list[tuple[str, str]]:
    """Texts may lie compressed in the file: read them as DuckDB does."""
    with schema.open_for_reading(library) as connection:
        columns = connection.execute(
            "SELECT table_name, column_name FROM duckdb_columns() "
            "WHERE NOT internal AND data_type = 'VARCHAR'"
        ).fetchall()
        return [
            (f"{table}.{column}", text)
            for table, column in columns
            for (value,) in connection.execute(f"SELECT DISTINCT {column} FROM {table}").fetchall()
            for text in texts
            if value is not None and any(form in value.casefold() for form in _folded(text))
        ]


def _folded(text: str) -> set[str]:
    return {form.casefold() for form in _forms(text)}
