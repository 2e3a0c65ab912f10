"""A table as text for a terminal, as CSV, as Markdown and as JSON."""

from __future__ import annotations

import csv
import io
import json
import re
import textwrap
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from explorer.report import words
from explorer.report.sentences import FEW_SIGN
from explorer.report.tables import BETWEEN, Cell, Column, Few, InKind, LevelShare, Span, Table

WIDTH = 80
GAP = 2
NARROWEST = 12
LONGEST_WORD = 20  # a longer one may be cut to make room
DIGITS = 4
BOM = "\ufeff"
# What a spreadsheet takes for a formula (OWASP, "CSV Injection"; the full-width
# forms too).
_FORMULA = tuple("=+-@＝＋－＠")


def cell_text(cell: Cell, column: Column) -> str:
    """A cell as a person reads it. Shares are in 100."""
    match cell:
        case None:
            return words.NOTHING
        case str():
            return words.clean(cell)
        case InKind(kind, inner):
            return cell_text(inner, replace(column, kind=kind))
        case LevelShare():
            return _level_text(cell)
        case Few(value):
            return words.NOTHING if value is None else cell_text(value, column) + FEW_SIGN
        case Span(low, high):
            if low is None or high is None:
                return words.NOTHING
            if column.kind == "share":
                return words.percents(low, high)
            if column.kind == "in 100":
                return f"{_number(low, column.kind)}-{_number(high, column.kind)}"
            return f"{_number(low, column.kind)} to {_number(high, column.kind)}"
        case float():
            return _number(cell, column.kind)
        case _:
            return str(cell) if column.kind == "rating" else f"{cell:,}"


def _number(value: float, kind: str) -> str:
    match kind:
        case "share":
            return words.percent(value)
        case "in 100":
            return words.fine_hundredths(value)
        case "score":
            return words.score(value)
        case "signed":
            return words.signed(value)
        case "points":
            return words.signed(100 * value, 1)
        case "pawns" | "signed pieces":
            return words.signed(value, 1)
        case "pieces":
            return f"{value:.1f}"
        case _:
            return f"{value:.0f}"


def _level_text(cell: LevelShare) -> str:
    if cell.share is None:
        return words.NOTHING
    # "<" is for what was not seen, so a small share is written out.
    number = words.fine_hundredths(cell.share)
    if cell.at_most is not None:
        number = f"<{words.fine_hundredths(cell.at_most)}"
    return number + (FEW_SIGN if cell.few else "")


def to_text(table: Table, width: int = WIDTH) -> str:
    """A table for a terminal of ``width`` columns: heads wrap, blocks follow one another."""
    parts = [_filled(table.title, width), *(_filled(line, width) for line in table.lead)]
    for title, picked in _blocks(table, width):
        parts.append("")
        if title:
            parts.append(title)
        parts.extend(_block(table, picked, width))
    if not table.rows and not table.notes:
        parts.extend(["", "Nothing to show."])
    if table.notes:
        parts.append("")
        parts.extend(_filled(note, width) for note in table.notes)
    return "\n".join(parts) + "\n"


def _filled(text: str, width: int) -> str:
    return "\n".join(_wrapped(words.clean(text), width, indent="  "))


def groups(table: Table) -> Iterator[tuple[str, list[int]]]:
    """The columns for a reader, group by group, each led by the first column."""
    first, *others = (i for i, column in enumerate(table.columns) if not column.data_only)
    if not others:
        yield "", [first]
    for title, group in groupby(others, key=lambda i: table.columns[i].group):
        yield title, [first, *group]


def _blocks(table: Table, width: int) -> Iterator[tuple[str, list[int]]]:
    """The groups in blocks that fit side by side; the first column leads each."""
    if not table.rows:
        return
    for title, (first, *others) in groups(table):
        block = [first]
        for index in others:
            if len(block) > 1 and _least(table, [*block, index]) > width:
                yield title, block
                title, block = "", [first]
            block.append(index)
        yield title, block


def _least(table: Table, picked: Sequence[int]) -> int:
    """The width that some columns cannot go below."""
    return sum(min(_bounds(table, i)) for i in picked) + GAP * (len(picked) - 1)


def _bounds(table: Table, index: int) -> tuple[int, int]:
    """The least and the natural width of a column."""
    column = table.columns[index]
    texts = [cell_text(row[index], column) for row in (*table.rows, *table.foot)]
    head = max(cells_wide(word) for word in _head_words(column.head))
    natural = max(head, *map(cells_wide, texts))
    if column.kind != "moves":
        return natural, natural
    word = max((cells_wide(word) for text in texts for word in text.split()), default=0)
    least = max(NARROWEST, head, min(word, LONGEST_WORD))
    return min(natural, least), max(natural, cells_wide(column.head))


def _head_words(head: str) -> list[str]:
    """Where a head may be broken: at blanks and after hyphens."""
    return re.findall(r"[^\s-]+-?", head) or [""]


def cells_wide(text: str) -> int:
    """How many columns of a terminal a text takes."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def _block(table: Table, picked: Sequence[int], width: int) -> Iterator[str]:
    columns = [table.columns[i] for i in picked]
    widths = _widths(table, picked, width)
    heads = [_wrapped_head(c.head, w) for c, w in zip(columns, widths, strict=True)]
    tall = max(map(len, heads))
    for line in zip(*([""] * (tall - len(h)) + h for h in heads), strict=True):
        yield _line(line, columns, widths)
    yield _line(["-" * w for w in widths], columns, widths)
    for row in (*table.rows, *foot_of(table, picked)):
        cells = [
            _wrapped(cell_text(row[i], table.columns[i]), w)
            for i, w in zip(picked, widths, strict=True)
        ]
        tall = max(map(len, cells))
        for line in zip(*(c + [""] * (tall - len(c)) for c in cells), strict=True):
            yield _line(line, columns, widths)


def foot_of(table: Table, picked: Sequence[int]) -> list[tuple[Cell, ...]]:
    """The closing rows that say something in this block."""
    return [row for row in table.foot if any(row[i] != "" for i in picked[1:])]


def _widths(table: Table, picked: Sequence[int], width: int) -> list[int]:
    """Each column's width: the natural one, the breakable ones shrunk until the block fits."""
    bounds = [_bounds(table, i) for i in picked]
    widths = [natural for _, natural in bounds]
    over = sum(widths) + GAP * (len(widths) - 1) - width
    while over > 0:
        room = [w - least for w, (least, _) in zip(widths, bounds, strict=True)]
        if max(room) == 0:
            break
        widest = max(range(len(widths)), key=lambda i: (room[i] > 0, widths[i]))
        widths[widest] -= 1
        over -= 1
    return widths


def _wrapped_head(head: str, width: int) -> list[str]:
    lines = [""]
    for word in _head_words(head):
        blank = "" if not lines[-1] or lines[-1].endswith("-") else " "
        if cells_wide(lines[-1] + blank + word) <= width or not lines[-1]:
            lines[-1] += blank + word
        else:
            lines.append(word)
    return lines


def _wrapped(text: str, width: int, indent: str = "") -> list[str]:
    """Text in lines of a width, the later ones indented; wide characters are cut by columns.

    A number stays with its per cent sign.
    """
    whole = re.sub(r"(?<=\d) (?=%)", words.NO_BREAK, text)
    lines = textwrap.wrap(whole, width, subsequent_indent=indent, break_on_hyphens=False) or [""]
    lines = [line.replace(words.NO_BREAK, " ") for line in lines]
    while any(cells_wide(line) > width for line in lines):
        lines = [part for line in lines for part in _halves(line, width)]
    return lines


def _halves(line: str, width: int) -> list[str]:
    return [line] if cells_wide(line) <= width else [line[: len(line) // 2], line[len(line) // 2 :]]


def _line(cells: Sequence[str], columns: Sequence[Column], widths: Sequence[int]) -> str:
    padded = []
    for cell, column, width in zip(cells, columns, widths, strict=True):
        blank = " " * (width - cells_wide(cell))
        padded.append(cell + blank if column.kind in ("text", "moves") else blank + cell)
    return (" " * GAP).join(padded).rstrip()


def to_csv(table: Table, separator: str = ",") -> str:
    """All rows and columns for a spreadsheet, numbers unrounded for reading, with a
    byte-order mark.

    With ``;`` decimals get a comma, as spreadsheets of the countries that use it expect.
    """
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\n")
    writer.writerow([_harmless(head) for head in _data_heads(table.columns)])
    for row in table.rows:
        writer.writerow([_field(cell, separator) for cell in _data_cells(table.columns, row)])
    return BOM + out.getvalue()


def _data_heads(columns: Sequence[Column]) -> list[str]:
    heads: list[str] = []
    for column in columns:
        name = column.file_head or column.head
        if column.group and column.kind == "share" and not column.file_head:
            name = f"{column.head}: share"
        stem = name.removesuffix(BETWEEN)
        heads.extend([f"{stem} from", f"{stem} to"] if column.spans else [name])
    return heads


def _data_cells(
    columns: Sequence[Column], row: Sequence[Cell]
) -> Iterator[str | int | float | None]:
    for column, given in zip(columns, row, strict=True):
        cell = given.cell if isinstance(given, InKind) else given
        if isinstance(cell, Span):
            yield cell.low
            yield cell.high
        elif isinstance(cell, LevelShare):
            yield cell.share
        elif isinstance(cell, Few):
            yield cell.value
        elif isinstance(cell, str) and column is columns[0]:
            yield cell.removesuffix(FEW_SIGN)
        else:
            yield cell


def _field(value: str | int | float | None, separator: str) -> str:
    """A value as a spreadsheet reads it; a number may begin with a minus, a text not."""
    match value:
        case None:
            return ""
        case str():
            return _harmless(value)
        case float():
            number = f"{round(value, DIGITS) + 0.0:.{DIGITS}f}".rstrip("0").rstrip(".")
            return number.replace(".", ",") if separator == ";" else number
        case _:
            return str(value)


def _harmless(text: str) -> str:
    """Text that no spreadsheet takes for a formula: an apostrophe goes before it."""
    text = words.clean(text)
    return f"'{text}" if text.startswith(_FORMULA) else text


def to_markdown(table: Table) -> str:
    """A table in Markdown with pipes, one for each block of columns, notes below."""
    parts = [f"**{_escaped(table.title)}**", *map(_paragraph, table.lead)]
    for title, picked in groups(table):
        if title:
            parts.append(_paragraph(title))
        parts.append("\n".join(_pipes(table, picked)))
    parts.extend(map(_paragraph, table.notes))
    return "\n\n".join(parts) + "\n"


def _pipes(table: Table, picked: Sequence[int]) -> Iterator[str]:
    columns = [table.columns[i] for i in picked]
    yield f"| {' | '.join(_escaped(column.head) for column in columns)} |"
    marks = ("---" if column.kind in ("text", "moves") else "---:" for column in columns)
    yield f"| {' | '.join(marks)} |"
    for row in (*table.rows, *foot_of(table, picked)):
        cells = (_escaped(cell_text(row[i], table.columns[i])) for i in picked)
        yield f"| {' | '.join(cells)} |"


def _escaped(text: str) -> str:
    """Text in which Markdown sees no mark-up (the characters of CommonMark that start one)."""
    escaped = "".join(f"\\{c}" if c in "\\`*_[]|~" else c for c in words.clean(text))
    return escaped.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _paragraph(text: str) -> str:
    """Escaped text that does not begin a heading or a list."""
    return re.sub(r"^(\d*)([#+.)-])", r"\1\\\2", _escaped(text))


def to_json(table: Table) -> str:
    """The rows as a list of objects under the columns' heads; null for an empty cell."""
    heads = _data_heads(table.columns)
    rows = [dict(zip(heads, _data_cells(table.columns, row), strict=True)) for row in table.rows]
    return json.dumps(rows, indent=2, allow_nan=False) + "\n"
