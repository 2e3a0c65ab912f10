"""The command as it was typed, so that a page can say how to make it again."""

from __future__ import annotations

from collections.abc import Sequence

from explorer.report.command import quoted

__all__ = ["as_typed", "quoted", "remember", "typed"]


class _Typed:
    """The words of the running command; set once by `main`."""

    words: tuple[str, ...] = ()


def remember(words: Sequence[str]) -> None:
    """Keep the words of the running command."""
    _Typed.words = tuple(words)


def typed() -> tuple[str, ...]:
    """The words of the running command, after the program's name."""
    return _Typed.words


def as_typed() -> str:
    """The running command, quoted for the shell of this system."""
    return quoted("replybook", *_Typed.words)
