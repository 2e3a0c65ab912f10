"""The answer of `habits` as JSON: the field names of its dataclasses."""

from __future__ import annotations

from dataclasses import asdict

from explorer.query.habits_model import HabitsAnswer
from explorer.report.habits_tables import veil_over
from explorer.report.json_of import dumped, filters_of


def habits_json(answer: HabitsAnswer, names: str = "initials") -> str:
    """All habits; levels as they are typed. The source can hold names: left out."""
    veil = veil_over(answer, names)
    fields = asdict(answer)
    del fields["source"]
    fields["filters"] = filters_of(answer.filters, veil)
    fields["player"] = veil.person(answer.player)
    return dumped(fields)
