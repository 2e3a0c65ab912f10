"""The answers on lessons as JSON: the field names of their dataclasses.

Filters stand as they were typed. Where the numbers come from is left out: it can hold names.
"""

from __future__ import annotations

from dataclasses import asdict

from explorer.query.lesson_model import LessonAnswer
from explorer.report.json_of import dumped, filters_of
from explorer.report.lesson_words import veiled
from explorer.report.privacy import Veil


def lesson_json(answer: LessonAnswer, names: str = "initials") -> str:
    """What a lesson answers; shares are fractions of 1, ``in_100`` and ``reached`` are of 100."""
    veil = Veil.over(answer, names)
    fields = asdict(veiled(answer, veil))
    del fields["source"]
    return dumped({**fields, "filters": filters_of(answer.filters, veil)})
