"""Values of options, read by us: what typer would say of a bad one is not for teachers."""

from __future__ import annotations

import re
from collections.abc import Callable
from enum import StrEnum
from typing import TypeVar

from ingest.errors import UsageError

Choice = TypeVar("Choice", bound=StrEnum)


def whole(option: str, least: int, most: int, example: int) -> Callable[[object], int]:
    """A reader of whole numbers between two limits, both included."""

    def read(value: object) -> int:
        text = str(value).strip()
        if re.fullmatch(r"[0-9]{1,9}", text) and least <= int(text) <= most:
            return int(text)
        raise UsageError(
            f"{option} {text}: not a whole number from {least} to {most}; "
            f"write for example {option} {example}"
        )

    return read


def one_of(option: str, choices: type[Choice]) -> Callable[[object], Choice]:
    """A reader of one of a few words, in any case."""

    def read(value: object) -> Choice:
        try:
            return choices(str(value).strip().lower())
        except ValueError:
            *others, last = choices
            known = " or ".join(filter(None, (", ".join(others), last)))
            raise UsageError(f"{option} {value}: no such choice; write {known}") from None

    return read


def words_of(choices: type[StrEnum]) -> str:
    """The choices as the help shows them: ``white|black``."""
    return "|".join(choices)
