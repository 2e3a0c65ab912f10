"""The numbers on a position's page are those that `replies --format json` gives."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from explorer.cli.main import main
from explorer.report import words
from explorer.report.sheet import typeset

Json = dict[str, Any]
MOST_CARDS, MOST_COLUMNS = 8, 6


def asked(library: Path, capsys: pytest.CaptureFixture[str], *options: str) -> Json:
    capsys.readouterr()
    assert main(["replies", *options, "--format", "json", "--library", str(library)]) == 0
    answer: Json = json.loads(capsys.readouterr().out)
    return answer


def plain(html: str) -> str:
    """Text without its tags, blanks made one."""
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", html)).split())


def cards(html: str) -> dict[str, str]:
    """The cards' text by move without its number."""
    found = re.findall(r'<article class="card[^>]*aria-label="([^"]*)">(.*?)</article>', html, re.S)
    return {unescape(label).split("\u00a0")[-1]: plain(body) for label, body in found}


QUESTIONS = (
    ("/", ()),
    ("/position?line=e4", ("e4",)),
    ("/position?line=e4+e5+Nf3+Nc6", ("e4", "e5", "Nf3", "Nc6")),
    ("/position?line=e4+e5&level=800-999", ("e4", "e5", "--level", "800-999")),
    ("/position?line=e4&level=under-800,unrated&opponents=under-1600",
     ("e4", "--level", "under-800", "--level", "unrated", "--opponents", "under-1600")),
    ("/position?pace=rapid&since=2024-01-01&until=2025-06",
     ("--pace", "rapid", "--since", "2024-01-01", "--until", "2025-06")),
    ("/position?collection=school", ("--collection", "school")),
    ("/position?min_games=2", ("--min-games", "2")),
    ("/position?by=year", ("--by", "year")),
    ("/position?player=Vane,+Amber&as=white", ("--player", "Vane, Amber", "--as", "white")),
    ("/position?bands=900,1300", ("--bands", "900,1300")),
)  # fmt: skip


@pytest.fixture(params=QUESTIONS, ids=lambda question: str(question[0]))
def both(
    request: pytest.FixtureRequest,
    page: TestClient,
    library: Path,
    capsys: pytest.CaptureFixture[str],
) -> tuple[str, Json]:
    """The page's text, and the answer in JSON."""
    address, options = request.param
    answer = page.get(address)
    assert answer.status_code == 200
    return answer.text, asked(library, capsys, *options)


def test_each_card_has_the_numbers_of_its_reply(both: tuple[str, Json]) -> None:
    text, answer = both
    found = cards(text)
    shown = [reply for reply in answer["replies"][:MOST_CARDS] if reply["san"] in found]
    assert len(shown) == len(found) > 0
    for reply in shown:
        card = found[reply["san"]]
        games = (
            f"{words.count(reply['games'], 'game')} by {words.count(reply['players'], 'player')}"
        )
        between = words.percents(reply["share_low"], reply["share_high"], " to ")
        assert plain(typeset(f"{words.percent(reply['share'])} ({between})")) in card
        assert games in card
        assert f"Score {words.score(reply['score'])}" in card
        if reply["over_expected"] is not None:
            assert plain(typeset(words.signed(reply["over_expected"]))) in card


def test_the_sums_are_the_same(both: tuple[str, Json]) -> None:
    text, answer = both
    games, players = answer["games"], answer["players"]
    told = f"{words.count(games, 'game')} by {words.count(players, 'player')} reached this position"
    assert told in plain(text)
    if (orders := answer["move_orders"]) > 1:
        assert f"{orders} move orders lead to this position" in plain(text)
    for other in answer["transposing"]:
        assert f"{other['san']} was not played here" in plain(text).replace("\u2011", "-")


def test_each_group_has_the_same_shares(both: tuple[str, Json]) -> None:
    text, answer = both
    table = re.search(r"<table>(.*?)</table>", text, re.S)
    assert table
    rows = [
        [plain(cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S)]
        for row in re.findall(r"<tr>(.*?)</tr>", table[1], re.S)
    ]
    first = answer["replies"][:MOST_COLUMNS]
    by_label = {row[0].replace("–", "-"): row[1:] for row in rows[1:-1]}
    seen = 0
    for at, level in enumerate(answer["levels"]):
        cells = by_label.get(level["label"])
        if cells is None:
            continue
        seen += 1
        for reply, cell in zip(first, cells[1:], strict=True):
            share = reply["levels"][at]["share"]
            if share:
                assert cell.rstrip("*") == plain(typeset(words.hundredths(share)))
    assert seen == len(by_label) > 0


def test_a_saved_page_is_the_one_that_the_command_makes(
    page: TestClient, library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """But for what comes next, which has a page of its own, and the command's last words."""
    saved = page.get("/position?line=e4+e5&out=file")
    assert saved.headers["content-disposition"] == 'attachment; filename="report-e4-e5.html"'
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(library))
    made = tmp_path / "made.html"
    assert main(["report", "e4", "e5", "-o", str(made)]) == 0
    assert cards(saved.text) == cards(made.read_text("utf-8"))
    assert 'content="report e4 e5"' in saved.text
    assert "<nav" not in saved.text
