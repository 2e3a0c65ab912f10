"""Names of positions: looked up by key, and found as people spell them."""

from __future__ import annotations

from collections.abc import Iterable


def name_of_key(key: int) -> str | None:
    """The name of the position with this key, if it has one."""
    return None


def name_along(keys: Iterable[int]) -> str | None:
    """The name of the last named position among the keys of a line."""
    return None
