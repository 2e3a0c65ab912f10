"""What is shown of plans: words, tables, JSON, the page, the section in a report."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from datetime import date
from html import unescape

import chess
import pytest

from explorer.query.filters import Filters
from explorer.query.plans_model import PlansAnswer
from explorer.report import plans_words as said
from explorer.report.diagram import Marks, diagram, in_words
from explorer.report.formats import cell_text, to_csv, to_markdown, to_text
from explorer.report.page import replies_page
from explorer.report.plans_json import plans_json
from explorer.report.plans_page import arrows, plans_page
from explorer.report.plans_tables import plans_file, plans_tables
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions, typeset
from tests.support.answers import replies_answer
from tests.support.plans_answers import blacks, plans_answer, rate, whites

OPTIONS = PageOptions("replybook plans e4 e5", date(2026, 3, 1), interactive=False)


def words(page: str) -> str:
    """A page's text without its mark-up."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page)))


def test_every_plan_has_plain_words() -> None:
    """What is done, with which man, where."""
    assert [said.plan(plan) for plan in whites().plans] == [
        "castles king's side",
        "pawn to d3",
        "knight to c3",
        "bishop pinning on g5",
        "bishop to g5",
        "breaks with d4",
        "exchanges a bishop for a knight",
        "exchanges queens",
        "rook to e1",
    ]


def test_the_lead_tells_the_commonest_and_what_the_model_surely_does_otherwise() -> None:
    """Commoner and rarer are told with both shares; the games counted come last."""
    answer = plans_answer()
    first, beside, counted = said.lead(answer, answer.sides[0])
    assert first == (
        "White most often: castles king's side (80 %, usually at move 6), pawn to d3 (60 %, "
        "usually at move 6) and knight to c3 (30 %, usually at move 6)."
    )
    assert beside == (
        "Surely commoner among players rated 1600 to 1999: knight to c3 (in 70 of 100 games, here "
        "in 30) and rook to e1 (in 20 of 100 games, here in 0); rarer: pawn to d3 (in 30 of 100 "
        "games, here in 60)."
    )
    assert counted == (
        "Of 240 games that players rated 800 to 1199 had here with White, 200 (by 60 players) went "
        "on for 8 more moves of each side; of players rated 1600 to 1999, 100 games (by 50 "
        "players)."
    )


def test_too_few_games_are_never_a_claim() -> None:
    """Nine games tell nothing, nor do plans that differ by chance, nor one player's habit."""
    answer = plans_answer()
    told = list(said.lead(answer, answer.sides[1]))
    assert told[0] == "Too few games to say what Black most often does."
    assert len(told) == 2
    side = answer.sides[0]
    alike = replace(side, plans=side.plans[:1])
    assert "No plan is surely commoner or rarer" in said.beside_model(answer, alike)
    plan = side.plans[1]
    own = replace(plan, here=replace(plan.here, rate=rate(120, top=90)))
    assert "No plan is surely" in said.beside_model(answer, replace(side, plans=(own,)))


def test_without_a_model_nothing_is_said_of_one() -> None:
    """Neither words nor columns."""
    answer = plans_answer(model=False)
    text = "\n".join(to_text(table) for table in plans_tables(answer))
    assert "odel" not in text
    assert len(list(said.lead(answer, answer.sides[0]))) == 2
    assert said.what(answer).endswith("in any order.")


@pytest.mark.parametrize("model", [True, False])
def test_the_tables_fit_a_terminal(model: bool) -> None:
    """80 columns, at every table."""
    for table in plans_tables(plans_answer(model)):
        assert max(map(len, to_text(table).splitlines())) <= 80


def test_muted_numbers_carry_the_sign() -> None:
    """Nine games' share, twenty games' difference, and a usual move of few."""
    white, black, *_ = plans_tables(plans_answer())
    rows = {str(row[0]): row for row in white.rows}
    heads = [column.head for column in white.columns]
    told = {
        head: cell_text(cell, column)
        for head, cell, column in zip(heads, rows["6 breaks with d4"], white.columns, strict=True)
    }
    assert (told["Share"], told["Usual move"], told["Differs by"]) == ("10 %*", "6*", "+0.11*")
    assert cell_text(black.rows[0][1], black.columns[1]) == "89 %*"
    assert "*" not in cell_text(rows["1 castles king's side"][1], white.columns[1])


def test_the_footnotes_hold_every_definition_and_the_caution() -> None:
    """Breaks, pins, exchanges, castling, the window, the level, the caution, one player's habit."""
    notes = " ".join(said.notes(plans_answer(), Veil()))
    for part in (
        "A break is",
        "Pinning:",
        "An exchange:",
        "A king who walks to g1 has not castled",
        "one that ended sooner is in none",
        "The level is that of the player whose plan it is",
        "no proof of cause",
        "Benjamini-Hochberg",
        "White, breaks with d4: one player made 15 of these 20.",
        "White: 7 rarer plans and 1 rarer pair are counted but not shown.",
        "Which comes first:",
    ):
        assert part in notes
    assert "Black:" not in notes


def test_the_pairs_name_side_order_and_games() -> None:
    """The commoner order first; three players are muted."""
    pairs = plans_tables(plans_answer())[2]
    told = [[cell_text(c, k) for c, k in zip(r, pairs.columns, strict=True)] for r in pairs.rows]
    assert told[0][:4] == ["White", "pawn to d3", "castles king's side", "67 %"]
    assert told[1][3] == "57 %*"


def test_an_order_that_is_mostly_one_players_is_muted_and_said() -> None:
    answer = plans_answer()
    white, black = answer.sides
    pair = replace(white.pairs[0], order=rate(60, 90, top=21))
    answer = replace(answer, sides=(replace(white, pairs=(pair,)), black))
    pairs = plans_tables(answer)[2]
    assert cell_text(pairs.rows[0][3], pairs.columns[3]) == "67 %*"
    told = "White, pawn to d3 before castles king's side: one player made 21 of these 60."
    assert told in pairs.notes


def test_csv_json_and_terminal_agree() -> None:
    """The same shares, moves and differences, both sides in one CSV."""
    answer = plans_answer()
    rows = list(csv.DictReader(io.StringIO(to_csv(plans_file(answer)).lstrip("\ufeff"))))
    data = json.loads(plans_json(answer))
    plans = [(side["side"], plan) for side in data["sides"] for plan in side["plans"]]
    assert len(rows) == len(plans)
    for row, (side, plan) in zip(rows, plans, strict=True):
        assert row["Side"] == side.capitalize()
        assert float(row["Share"]) == round(plan["here"]["rate"]["share"], 4)
        assert row["Usual move"] == str(plan["here"]["move"] or "")
        assert float(row["Score with less without"]) == plan["here"]["gain"]["value"]
        assert float(row["Model: share"]) == round(plan["model"]["rate"]["share"], 4)
        assert int(row["Games"]) == plan["here"]["rate"]["games"]
    assert rows[0]["Plan"] == "castles king's side"
    assert data["model"] == "1600-1999"
    assert data["filters"]["levels"] == ["800-1199"]
    assert "source" not in data
    assert "Model" not in to_csv(plans_file(plans_answer(model=False)))


def test_the_page_shows_the_cells_of_the_terminal() -> None:
    """Every table, cell for cell; arrows, strips, pairs, footnotes; nothing of a network."""
    answer = plans_answer()
    page = plans_page(answer, OPTIONS)
    text = words(page)
    for table in plans_tables(answer):
        for row in table.rows:
            for cell, column in zip(row, table.columns, strict=True):
                if not column.data_only:
                    shown = cell_text(cell, column)
                    plain = typeset(shown.replace(" ", "\u00a0") if column.spans else shown)
                    assert re.sub(r"\s+", " ", plain) in text
    assert page.count('class="diagram"') == 2
    assert page.count('class="panel"') == 10
    assert "Which comes first" in text
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert plans_page(answer, OPTIONS) == page


def test_eight_plans_become_numbered_arrows() -> None:
    """Two plans along one way share an arrow; the ninth has none; words tell the numbers."""
    marks = arrows(whites())
    assert marks.labels == ("1", "2", "3", "4, 5", "6", "7", "8")
    assert marks.arrows[0] == (chess.E1, chess.G1)
    assert "1: e1 to g1" in in_words(chess.Board(), marks=marks)


def test_labels_on_one_square_stand_apart() -> None:
    """Two arrows to c3: two labels that do not overlap, inside the board."""
    ways = ((chess.C2, chess.C3), (chess.B1, chess.C3), (chess.H2, chess.H1))
    drawn = diagram(chess.Board(), marks=Marks(arrows=ways, labels=("1", "2", "10")))
    boxes = [
        tuple(map(float, box)) for box in re.findall(r'<rect x="([\d.]+)" y="([\d.]+)"', drawn)
    ]
    assert len(boxes) == 3
    (x1, y1), (x2, y2), (x3, y3) = boxes
    assert (x1 - x2) ** 2 + (y1 - y2) ** 2 >= 17**2
    assert x3 + 24 <= 18 + 320
    assert y3 + 17 <= 4 + 320


def test_a_side_without_plans_is_told_and_drawn_without_arrows() -> None:
    """Nobody of the level with Black: no table, no strip, no arrow."""
    nobody = replace(blacks(), plans=(), games=0, players=0)
    answer = plans_answer(sides=(whites(), nobody))
    page = plans_page(answer, OPTIONS)
    assert "Too few games to say what Black most often does" in words(page)
    text = to_markdown(plans_tables(answer)[1])
    assert "Black" in text
    assert page.count('class="panel"') == 9


def test_a_student_is_told_by_initials_only() -> None:
    """In the filter sentence, the command, and JSON."""
    answer = plans_answer(filters=Filters(player="Appleyard, Molly"))
    command = "replybook plans e4 e5 --player 'Appleyard, Molly'"
    for shown in (
        plans_page(answer, replace(OPTIONS, command=command)),
        plans_json(answer),
        *(to_text(table) for table in plans_tables(answer)),
    ):
        assert "Appleyard" not in shown
    assert "Appleyard" in plans_json(answer, "full")


def test_hostile_names_of_openings_and_collections_are_harmless() -> None:
    """Mark-up in a name stays text."""
    answer = plans_answer()
    evil = "<script>alert(1)</script>"
    answer = replace(
        answer,
        position=replace(answer.position, name=evil),
        source=replace(answer.source, collections=(evil,)),
    )
    assert "<script>alert" not in plans_page(answer, OPTIONS)


def test_a_report_has_a_section_on_what_comes_next() -> None:
    """Both sides with their arrows and first tables, and the definitions below; none without."""
    plans: PlansAnswer = plans_answer(model=False)
    page = replies_page([replies_answer()], OPTIONS, plans=plans)
    text = words(page)
    assert "What comes next" in text
    assert "What White does" in text
    assert "A break is a step of a pawn" in text
    assert "mostly one player" in text
    assert "Share at each level, in 100" not in text.split("What comes next")[1]
    assert "What comes next" not in words(replies_page([replies_answer()], OPTIONS))
