"""A class as a teacher writes it down: CLASS.toml -> the names of its members.

[[player]]
name = "Appleyard, Molly"
also = ["M. Appleyard"]      # other spellings, if there are any
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from ingest.errors import InputError
from ingest.tags import name_of

EXAMPLE = 'write for each member: [[player]] and under it name = "Doe, Jane"'


def read_class(path: Path) -> tuple[tuple[str, ...], ...]:
    """The spellings of each member's name, the first one to be shown.

    InputError, in one line, when the file cannot be read or is no such list.
    """
    players = _parsed(path).get("player")
    if not isinstance(players, list) or not players:
        raise InputError(f"{path}: no players in it; {EXAMPLE}")
    return tuple(_spellings(path, number, player) for number, player in enumerate(players, start=1))


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


def _spellings(path: Path, number: int, player: object) -> tuple[str, ...]:
    known = player if isinstance(player, dict) else {}
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
