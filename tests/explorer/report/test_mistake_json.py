"""The JSON of mistakes has the dataclasses' field names, and no names of people."""

from __future__ import annotations

import json
from dataclasses import fields, replace

from explorer.positions.engine import Evaluation, Opinion
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.mistake_model import CompareAnswer, Costly, CostlyAnswer, MistakeAnswer, Rate
from explorer.report.mistake_case import Case
from explorer.report.mistake_json import compare_json, costly_json, mistake_json
from tests.support.answers import games_answer, make_source
from tests.support.mistake_answers import (
    compare_answer,
    costly_answer,
    make_helped,
    mistake_answer,
    never_made,
)

LINE = parse_position("e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+")


def names_of(kind: type) -> set[str]:
    return {field.name for field in fields(kind)}  # type: ignore[arg-type]


def test_a_mistake_has_the_fields_of_its_dataclass_and_what_stands_beside_it() -> None:
    opinion = Opinion("Toy", (Evaluation(0.3, None, "Nc6", 14), Evaluation(1.5, None, "Nxe5", 14)))
    case = Case(mistake_answer(), LINE, "d4", opinion, games_answer())
    found = json.loads(mistake_json(case))
    assert set(found) == names_of(MistakeAnswer) - {"source"} | {"facts", "engine", "games"}
    assert set(found["levels"][0]["rate"]) == names_of(Rate)
    assert found["levels"][-1]["rate"]["cases"] == 80
    assert found["punishment"]["levels"][-1]["steps"][1]["between"][0]["san"] == "fxe5"
    assert found["facts"][-1]["only_replies"] == ["Ke7", "g6"]
    assert found["facts"][-1]["square"]["black"] == ["e5"]
    assert found["engine"]["evaluations"][1]["best"] == "Nxe5"
    assert found["filters"]["levels"] == []
    assert len(found["games"]) == 2


def test_what_was_not_asked_for_is_null_or_empty() -> None:
    found = json.loads(mistake_json(Case(never_made(), parse_position("e4 e5 Nf3 f6"))))
    assert found["punishment"] is found["engine"] is None
    assert found["games"] == found["helped"] == []


def test_names_of_people_stay_out() -> None:
    filters = Filters(player="Ada Marsh")
    answer = mistake_answer(
        filters,
        source=make_source(people=("Quill, Ben",)),
        helped=(make_helped(not_found=("Zoe Fenn",)),),
    )
    text = mistake_json(Case(answer, LINE, games=games_answer(filters=filters)))
    assert not any(name in text for name in ("Marsh", "Quill", "Fenn"))
    found = json.loads(text)
    assert found["helped"][0]["not_found"] == 1
    assert found["helped"][0]["since"] == "2026-03-01"
    assert "Marsh, Ada" in mistake_json(Case(answer, LINE, games=games_answer()), "full")


def test_costly_replies_and_comparisons_too() -> None:
    found = json.loads(costly_json(costly_answer()))
    assert set(found) == names_of(CostlyAnswer) - {"source"}
    assert set(found["found"][0]) == names_of(Costly)
    compared = json.loads(compare_json(compare_answer()))
    assert set(compared) == names_of(CompareAnswer)
    assert compared["answer"].keys() == found.keys()
    assert compared["outgrown"][1]["higher"]["cases"] == 0


def test_the_text_is_ascii() -> None:
    answer = replace(costly_answer(), source=make_source(collections=("Grünfeld",)))
    assert costly_json(answer).isascii()
