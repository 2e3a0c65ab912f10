"""A class as a teacher writes it down: CLASS.toml -> its members.

[[player]]
name = "Appleyard, Molly"
also = ["M. Appleyard"]      # other spellings, if there are any
level = "under-800"          # for somebody without a rating ...
level_since = 2026-01-10     # ... from this day on
lesson = "italian.pgn"       # beside this file, or a path from its folder
lesson_side = "white"
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from explorer.cli.options import Side
from explorer.query.filter_texts import parse_day
from ingest.errors import InputError, UsageError
from ingest.levels import Level, parse_level
from ingest.tags import name_of, same_name

EXAMPLE = 'write for each member: [[player]] and under it name = "Doe, Jane"'
KNOWN = ("name", "also", "level", "level_since", "lesson", "lesson_side")


@dataclass(frozen=True, slots=True)
class Member:
    """One member of a class: every spelling of the name, the first one to be shown.

    ``level`` is the teacher's word for somebody without a rating, from ``level_since`` on.
    ``lesson`` is the path of a PGN file that teaches ``lesson_side`` ("white" or "black").
    """

    names: tuple[str, ...]
    level: Level | None = None
    level_since: date | None = None
    lesson: Path | None = None
    lesson_side: str = ""


def read_class(path: Path) -> tuple[tuple[str, ...], ...]:
    """The spellings of each member's name, the first one to be shown.

    InputError, in one line, when the file cannot be read or is no such list.
    """
    return tuple(member.names for member in read_members(path))


def read_members(path: Path) -> tuple[Member, ...]:
    """The members of a class, in the file's order.

    InputError, in one line, when the file cannot be read or is no such list.
    """
    players = _parsed(path).get("player")
    if not isinstance(players, list) or not players:
        raise InputError(f"{path}: no players in it; {EXAMPLE}")
    members = [_member(path, number, player) for number, player in enumerate(players, start=1)]
    _refuse_twins(path, members)
    return tuple(members)


def _parsed(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except FileNotFoundError as error:
        raise InputError(f"{path}: no such file; check its name and folder") from error
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); check it") from error
    except UnicodeDecodeError as error:
        raise InputError(f"{path}: not UTF-8 text; save it as UTF-8") from error
    except tomllib.TOMLDecodeError as error:
        reason = str(error).splitlines()[0]
        raise InputError(f"{path}: not TOML ({reason}); {EXAMPLE}") from error


def _member(path: Path, number: int, player: object) -> Member:
    known = player if isinstance(player, dict) else {}
    names = _spellings(path, number, known)
    where = f"{path}: player {number} ({names[0]})"
    for word in known:
        if word not in KNOWN:
            raise InputError(f"{where}: {word!r} is not known; write one of {', '.join(KNOWN)}")
    try:
        level = parse_level(_text(known, "level")) if "level" in known else None
        since = _day(known)
    except UsageError as error:
        raise InputError(f"{where}: {error}") from error
    if since and level is None:
        raise InputError(f'{where}: level_since without a level; add level = "800-999"')
    lesson, side = _lesson(where, path, known)
    return Member(names, level, since, lesson, side)


def _spellings(path: Path, number: int, known: dict[str, Any]) -> tuple[str, ...]:
    also = known.get("also", [])
    names = [known.get("name"), *(also if isinstance(also, list) else [None])]
    spelt = [name_of(name) if isinstance(name, str) else None for name in names]
    found = tuple(name for name in spelt if name)
    if len(found) < len(names):
        raise InputError(
            f"{path}: player {number} has no name, or an empty one; {EXAMPLE}, "
            'and if wanted also = ["J. Doe"]'
        )
    return found


def _text(known: dict[str, Any], word: str) -> str:
    value = known[word]
    if not isinstance(value, str):
        raise UsageError(f'{word}: not text; put it in quotes, {word} = "..."')
    return value


def _day(known: dict[str, Any]) -> date | None:
    """A TOML date, or one as the options of the command line take it."""
    value = known.get("level_since")
    if isinstance(value, datetime):
        return value.date()
    if value is None or isinstance(value, date):
        return value
    return parse_day(str(value), last=False)


def _lesson(where: str, path: Path, known: dict[str, Any]) -> tuple[Path | None, str]:
    """The lesson's file, looked for from the class file's folder, and the side it teaches."""
    if "lesson" not in known and "lesson_side" not in known:
        return None, ""
    lesson, side = known.get("lesson"), known.get("lesson_side")
    if not isinstance(lesson, str) or not lesson.strip():
        raise InputError(f'{where}: lesson is no file; write lesson = "italian.pgn"')
    if side not in tuple(Side):
        raise InputError(f'{where}: lesson_side is no side; write lesson_side = "white" or "black"')
    return path.parent / lesson, str(side)


def _refuse_twins(path: Path, members: Sequence[Member]) -> None:
    """One person twice would be two pages of the same games."""
    seen: dict[str, str] = {}
    for member in members:
        for name in _different(member.names):
            if name in seen:
                raise InputError(
                    f"{path}: {member.names[0]} is in it twice (see {seen[name]}); keep one"
                )
        seen |= dict.fromkeys(_different(member.names), member.names[0])


def _different(names: Sequence[str]) -> Iterator[str]:
    yield from dict.fromkeys(same_name(name) for name in names)
