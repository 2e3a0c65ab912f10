"""The answer of `plans` as JSON: the field names of its dataclasses."""

from __future__ import annotations

from dataclasses import asdict

from explorer.query.plans_model import PlansAnswer
from explorer.report.json_of import dumped, filters_of
from explorer.report.privacy import Veil


def plans_json(answer: PlansAnswer, names: str = "initials") -> str:
    """The plans of both sides; levels as they are typed. The source can hold names: left out."""
    fields = asdict(answer)
    del fields["source"]
    fields["filters"] = filters_of(answer.filters, Veil.over(answer, names))
    fields["model"] = answer.model.typed if answer.model else None
    return dumped(fields)
