"""The answer about a student as JSON: the field names of its dataclasses.

Filters stand as they were typed. Where the numbers come from is left out: it can hold names.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from explorer.query.student_model import ShortGame, StudentAnswer
from explorer.report.json_of import dumped, filters_of, game_of
from explorer.report.privacy import Veil


def student_json(answer: StudentAnswer, names: str = "initials") -> str:
    """Everything about a student; opponents are named with full names only."""
    veil = Veil.over(answer, names)
    fields = asdict(answer, dict_factory=_plain)
    del fields["source"]
    fields["filters"] = filters_of(answer.filters, veil)
    fields["student"] = veil.person(answer.student)
    for kind in ("names", "not_found"):
        fields[kind] = list(getattr(answer, kind)) if names == "full" else len(fields[kind])
    for kind, games in (("won", answer.won), ("lost", answer.lost)):
        fields[kind] = [_short(game, veil) for game in games]
    if answer.lesson:
        fields["lesson"]["lesson"] = veil.text(answer.lesson.lesson)
    if answer.habits:
        del fields["habits"]["source"]
        fields["habits"]["filters"] = filters_of(answer.habits.filters, veil)
        fields["habits"]["player"] = veil.person(answer.habits.player)
    return dumped(fields)


def _plain(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Days as text."""
    return {
        name: value.isoformat() if hasattr(value, "isoformat") else value for name, value in pairs
    }


def _short(game: ShortGame, veil: Veil) -> dict[str, Any]:
    told = {name: getattr(game, name) for name in ShortGame.__dataclass_fields__}
    return {**told, "row": game_of(game.row, veil)}
