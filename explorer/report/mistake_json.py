"""The answers of `mistake` and `costly` as JSON: the field names of their dataclasses.

Filters stand as they were typed. Where the numbers come from is left out: it can hold names.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from explorer.query.mistake_model import CompareAnswer, CostlyAnswer
from explorer.report.json_of import dumped, filters_of, game_of
from explorer.report.mistake_case import Case
from explorer.report.privacy import Veil


def mistake_json(case: Case, names: str = "initials") -> str:
    """The answer, and beside it ``facts`` of the line, ``engine`` and the example ``games``."""
    veil = Veil.over(case.answer, names)
    games = case.games.rows if case.games else ()
    answer = asdict(case.answer)
    for helped in answer["helped"]:
        helped["since"] = helped["since"].isoformat()
        helped["not_found"] = len(helped["not_found"])
    return dumped(
        {
            **_without_source(answer, case.answer, veil),
            "facts": [asdict(fact) for fact in case.facts],
            "engine": asdict(case.opinion) if case.opinion else None,
            "games": [game_of(row, veil) for row in games],
        }
    )


def costly_json(answer: CostlyAnswer, names: str = "initials") -> str:
    """The costly replies, most costly first."""
    return dumped(_costly(answer, names))


def compare_json(answer: CompareAnswer, names: str = "initials") -> str:
    """What the higher level no longer gets wrong; ``answer`` is that of the lower level."""
    return dumped({**asdict(answer), "answer": _costly(answer.answer, names)})


def _costly(answer: CostlyAnswer, names: str) -> dict[str, Any]:
    return _without_source(asdict(answer), answer, Veil.over(answer, names))


def _without_source(fields: dict[str, Any], answer: Any, veil: Veil) -> dict[str, Any]:
    del fields["source"]
    return {**fields, "filters": filters_of(answer.filters, veil)}
