"""The pages beside those of positions: they open, lead on, and say what is wrong in plain words."""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from explorer.query import shelves
from explorer.web import lesson_files
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import CLUB, Played, evening, pgn
from tests.support.libraries import BAD

Serve = Callable[..., TestClient]
LESSON = Path(__file__).parents[3] / "sample_games" / "lesson_italian.pgn"


@pytest.fixture
def taught(serve: Serve, library: Path, tmp_path: Path) -> TestClient:
    """With a folder of lessons: one in it, one that cannot be read in a folder below."""
    shutil.copy(LESSON, tmp_path / "italian.pgn")
    (tmp_path / "drafts").mkdir()
    (tmp_path / "drafts" / "bad.pgn").write_text("1. e4 e5 2. Ke8 *")
    return serve(library, lessons=tmp_path)


@pytest.fixture
def spoilt(serve: Serve, tmp_path: Path) -> TestClient:
    """A library with rejected games, in a collection named after a player."""
    file = tmp_path / "Edda Quill.pgn"
    file.write_text(pgn(CLUB) + 130 * BAD, "utf-8")
    add_collection(tmp_path / "library", [str(file)], "Edda Quill", AddOptions(plies=20))
    return serve(tmp_path / "library")


def said(text: str) -> str:
    """A page's words."""
    body = text.split("</header>", 1)[1]
    plain = unescape(re.sub(r"<[^>]*>", " ", body)).replace("\u2019", "'")
    return " ".join(plain.split())


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("/class?line=e4+e5", "42 of 43 games"),
        ("/plans?line=e4+e5+Nf3", "reached"),
        ("/plans?line=a4+a5", "no game reached this position"),
        ("/mistakes", "had enough games"),
        ("/mistakes?as=black&to_move=4&level=under-1000", "had enough games"),
        ("/mistake?line=e4+e5+Bc4+Nc6+Qh5+Nf6&punish=Qxf7", "Is it punished?"),
        ("/mistake?line=e4+e5", "How often, level by level"),
        ("/game/1?ply=3", "Move by move"),
        ("/student?name=Vane,+Amber", "Where the numbers come from"),
        ("/student", "Write a student's name"),
        ("/library", "48 games in 2 collections"),
        ("/library/rejects", "Nothing more was rejected"),
        ("/lessons", "replybook browse --lessons FOLDER"),
    ],
)
def test_a_page_opens(page: TestClient, address: str, words: str) -> None:
    answer = page.get(address)
    assert answer.status_code == 200
    assert words in said(answer.text)


@pytest.mark.parametrize(
    ("address", "status", "words"),
    [
        ("/nope", 404, "one of the pages above"),
        ("/position?line=e4+e9", 400, "not a move"),
        ("/position?fen=8/8", 400, "a FEN has 4 or 6"),
        ("/position?level=strong", 400, "not a level"),
        ("/position?pace=slow", 400, "no such pace"),
        ("/position?since=2025-13", 400, "not a date"),
        ("/position?since=2025&until=2024", 400, "swap the two"),
        ("/position?by=colour", 400, "no such choice"),
        ("/position?view=top", 400, "choose one of white, black"),
        ("/position?min_games=0", 400, "not a whole number from 1"),
        ("/position?collection=nope", 200, ""),
        ("/position?player=Nobody", 200, "no such name"),
        ("/position?line=" + "a" * 4001, 400, "are too many"),
        ("/position?" + "&".join(f"level={n}-2000" for n in range(41)), 400, "too many things"),
        ("/mistake", 400, "make a move first"),
        ("/mistake?line=e4+e5&punish=Qh9", 400, "Qh9"),
        ("/mistakes?line=a3+a6", 404, "no game"),
        ("/game/99999", 404, "none of that number"),
        ("/game/99999999999999", 404, "none of that number"),
        ("/game/1?ply=x", 400, "not a whole number"),
        ("/student?name=Nobody", 404, "no such name"),
        ("/library/rejects?collection=nope", 400, "none of that name"),
        ("/lesson?file=a.pgn", 404, "no lesson file"),
    ],
)
def test_what_is_wrong_is_said_in_plain_words(
    page: TestClient, address: str, status: int, words: str
) -> None:
    if address.endswith("collection=nope") and status == 200:
        status, words = 400, "no such collection"
    answer = page.get(address)
    assert answer.status_code == status
    assert words in said(answer.text)
    assert "Traceback" not in answer.text


def test_a_mistake_of_ours_shows_no_traceback(
    serve: Serve, library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from explorer.web import app

    monkeypatch.setitem(app.PAGES, "/class", lambda desk, request: 1 / 0)
    answer = serve(library).get("/class")
    assert answer.status_code == 500
    assert "The program made a mistake" in answer.text
    assert "ZeroDivision" not in answer.text


def test_without_a_library_the_page_says_how_to_make_one(serve: Serve, tmp_path: Path) -> None:
    answer = serve(tmp_path / "none").get("/")
    assert answer.status_code == 503
    assert "replybook add" in answer.text


def test_a_form_left_as_it_was_leads_to_a_short_address(page: TestClient) -> None:
    answer = page.get("/position?line=e4&level=&pace=rapid&since=&min_games=1&by=level&as=")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/position?line=e4&pace=rapid"


def test_a_form_keeps_what_it_does_not_ask(page: TestClient) -> None:
    text = page.get("/position?line=e4+e5&names=full&view=black&bands=900,1300").text
    form = text.split('id="filters"')[1].split("</form>")[0]
    kept = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))
    assert kept == {"line": "e4 e5", "bands": "900,1300", "view": "black", "names": "full"}


def test_a_choice_that_is_not_offered_is_kept_too(page: TestClient) -> None:
    text = page.get(
        "/position?level=850-1010&pace=rapid,blitz&collection=school&collection=club+evening"
    ).text
    chosen = re.findall(r'<option value="([^"]*)" selected>', text)
    assert chosen[:4] == ["850-1010", "", "rapid,blitz", "school\nclub evening"]


def test_two_collections_at_once_are_asked_for(page: TestClient) -> None:
    both = page.get("/position?collection=school%0D%0Aclub+evening").text
    assert "48 games by" in said(both)


@pytest.mark.parametrize("address", ["/position?line=e4", "/game/1?ply=2", "/class"])
def test_no_player_is_named_unless_asked_for(page: TestClient, address: str) -> None:
    joint = "&" if "?" in address else "?"
    assert "Vane" not in page.get(address).text
    if address != "/class":
        assert "Vane" in page.get(f"{address}{joint}names=full").text


def test_a_game_is_stepped_through(page: TestClient) -> None:
    first = page.get("/game/1?level=under-1000").text
    assert 'href="/game/1?ply=1&amp;level=under-1000"' in first
    assert ">Back<" not in first
    last = page.get("/game/1?ply=9999").text
    assert ">Next<" not in last
    assert ">Back<" in last


def test_each_position_of_a_game_leads_to_its_page(page: TestClient) -> None:
    text = page.get("/game/1?ply=2&pace=rapid").text
    place = re.search(r'<a href="([^"]*)">What is played here', text)
    assert place
    assert unescape(place[1]) == "/position?line=e4+e5&pace=rapid"


def test_a_games_moves_have_their_shares(page: TestClient) -> None:
    """Of 48 games 47 went on from the start, and 44 of them with 1. e4."""
    text = said(page.get("/game/1").text)
    assert re.search(r"1\. e4 94 % [\d–]+ % 44 47 ", text)


def test_the_command_for_a_page_has_all_that_it_was_asked(serve: Serve, library: Path) -> None:
    page = serve(library, tail=("--library", "my games"))
    text = said(page.get("/position?line=e4&level=800-999,2000%2B&min_games=3&view=black").text)
    assert (
        "replybook report e4 --level 800-999 --level 2000+ --min-games 3 --view black "
        "--library 'my games'" in text
    )


def test_lessons_are_listed_by_name(taught: TestClient) -> None:
    text = said(taught.get("/lessons").text)
    assert "2 PGN files." in text
    assert "drafts/bad, for White" in text


def test_lessons_with_a_position_are_found(taught: TestClient) -> None:
    text = said(taught.get("/lessons?line=e4+e5+Nf3+Nc6+Bc4").text)
    assert "1 of them has the position after 1. e4 e5 2. Nf3 Nc6 3. Bc4." in text
    assert "italian, for White" in text
    assert "bad" not in text
    assert "0 of them have" in said(taught.get("/lessons?line=a3").text)


def test_a_lesson_leads_to_its_positions(taught: TestClient) -> None:
    answer = taught.get("/lesson?file=italian.pgn&as=white&to_move=6")
    assert answer.status_code == 200
    assert "How far the lesson carries" in said(answer.text)
    assert 'href="/position?line=e4+e5+Nf3+Nc6"' in answer.text


def test_a_lesson_that_cannot_be_read_says_why(taught: TestClient) -> None:
    answer = taught.get("/lesson?file=drafts/bad.pgn&as=white")
    assert answer.status_code == 404
    assert "Ke8" in said(answer.text)


def test_a_folder_without_lessons_says_so(serve: Serve, library: Path, tmp_path: Path) -> None:
    assert "no PGN file" in said(serve(library, lessons=tmp_path).get("/lessons").text)


def test_rejected_games_are_listed_page_by_page(spoilt: TestClient) -> None:
    first, rest = spoilt.get("/library/rejects"), spoilt.get("/library/rejects?skip=100")
    assert "Lines 1 to 100." in said(first.text)
    assert "More lines" in said(first.text)
    assert "Lines 101 to 130." in said(rest.text)
    assert "Earlier lines" in said(rest.text)


def test_a_students_name_is_hidden_in_the_ledger(spoilt: TestClient) -> None:
    """In the names of collection and file, and in the beginnings of the games."""
    for address in ("/library", "/library/rejects", "/library/rejects?collection=Edda+Quill"):
        text = spoilt.get(address).text
        assert "Quill" not in re.sub(r'(href|value)="[^"]*"', "", text)
    assert "Fenn" in spoilt.get("/library/rejects?names=full").text


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no such names")
def test_a_name_that_is_no_text_does_not_hide_the_other_lessons(
    taught: TestClient, tmp_path: Path
) -> None:
    (tmp_path / os.fsdecode(b"\xff\xfe.pgn")).write_text("1. e4 *")
    text = said(taught.get("/lessons").text)
    assert "2 PGN files." in text
    assert "1 PGN file cannot be listed: a name that is no text" in text
    assert "cannot be listed" in said(taught.get("/lessons?line=e4").text)


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no such names")
def test_a_folder_of_names_that_are_no_text_is_not_called_empty(
    serve: Serve, library: Path, tmp_path: Path
) -> None:
    (tmp_path / os.fsdecode(b"\xff\xfe.pgn")).write_text("1. e4 *")
    text = said(serve(library, lessons=tmp_path).get("/lessons").text)
    assert "0 PGN files. 1 PGN file cannot be listed" in text


@pytest.mark.parametrize(("most", "looked_at", "more"), [(2, 9, False), (1, 9, True), (2, 1, True)])
def test_a_list_of_lessons_that_is_cut_off_says_so(
    taught: TestClient, monkeypatch: pytest.MonkeyPatch, most: int, looked_at: int, more: bool
) -> None:
    """Of two files."""
    monkeypatch.setattr(lesson_files, "MOST_FILES", most)
    monkeypatch.setattr(lesson_files, "MOST_LOOKED_AT", looked_at)
    assert ("The folder holds more: at most" in said(taught.get("/lessons").text)) is more


def test_very_long_names_are_shortened_in_what_is_said(serve: Serve, tmp_path: Path) -> None:
    """Those of players and of a collection; 60 characters are left of 3,000."""
    long = "Vane, " + "A" * 2994
    (tmp_path / "a.pgn").write_text(pgn([Played("1. e4 e5", long, "Marsh, Cleo")]), "utf-8")
    add_collection(tmp_path / "l", [str(tmp_path / "a.pgn")], "C" * 3000, AddOptions(plies=20))
    page = serve(tmp_path / "l")
    for address in ("/position?player=Vane,+AAA", "/student?name=Vane,+AAA"):
        text = said(page.get(address).text)
        assert f"{long[:59]}\u2026" in text
        assert long[:61] not in text
    for address in ("/position?collection=CC", "/library/rejects?collection=CC"):
        assert f" {'C' * 59}\u2026" in said(page.get(address).text)


def test_a_student_and_the_positions_lead_to_each_other(serve: Serve, tmp_path: Path) -> None:
    """The sample student plays 2... f6, a listed mistake, in 27 of 60 games."""
    games = sorted(map(str, LESSON.parent.glob("*.pgn.gz")))
    add_collection(tmp_path / "library", games, "club", AddOptions(plies=20))
    page = serve(tmp_path / "library")
    text = page.get("/student?name=Thistlewood,+Mina").text
    assert "The student’s positions" in text
    assert 'href="/position?line=e4+e5+Nf3"' in text
    there = page.get("/position?line=e4+e5+Nf3&player=Thistlewood,+Mina").text
    assert "/student?name=Thistlewood%2C+Mina&amp;player=" in there


def test_a_students_sentence_stays_to_be_put_right(page: TestClient) -> None:
    for address in ("/student?name=Vane,+Ambre", "/student?name=Vane,+Amber&until=1990"):
        answer = page.get(address)
        assert answer.status_code == 404
        assert 'value="Vane, Amb' in answer.text
        assert "Save this page" not in answer.text


def test_a_saved_page_of_a_student_is_not_called_by_the_name(page: TestClient) -> None:
    saved = page.get("/student?name=Vane,+Amber&out=file")
    assert saved.headers["content-disposition"] == 'attachment; filename="student-A-V.html"'


def test_a_saved_lesson_is_called_after_its_file_not_its_folder(taught: TestClient) -> None:
    saved = taught.get("/lesson?file=italian.pgn&as=white&out=file")
    assert (
        saved.headers["content-disposition"] == 'attachment; filename="lesson-italian-white.html"'
    )


def test_a_students_sentence_offers_what_the_page_can_do(page: TestClient) -> None:
    text = page.get("/student?name=Vane,+Amber").text
    assert 'name="opponents"' not in text
    assert "; before and since" in said(text)
    assert 'aria-label="Level of the others"' in text


def test_a_position_by_fen_keeps_its_start(page: TestClient) -> None:
    fen = "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"
    text = page.get("/position", params={"fen": fen, "line": "e4"}).text
    assert "fen=4k3%2F8%2F8%2F8%2F8%2F8%2F4P3%2F4K3+w+-+-+0+1&amp;line=e4+Kd7" in text


def test_the_class_view_can_be_asked_for_as_a_view(page: TestClient) -> None:
    answer = page.get("/position?line=e4&view=class&pace=rapid")
    assert answer.headers["location"] == "/class?line=e4&pace=rapid"


def test_a_class_can_look_at_a_position_that_no_game_reached(page: TestClient) -> None:
    answer = page.get("/class?line=a4+a5")
    assert answer.status_code == 200
    assert "no game reached this position" in said(answer.text)


def test_the_diagram_is_a_file_of_its_own(page: TestClient) -> None:
    answer = page.get("/diagram.svg?line=e4+e5&view=black")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert answer.headers["content-disposition"] == 'attachment; filename="diagram-e4-e5.svg"'
    assert "Black at the bottom" in answer.text


def test_long_lists_of_files_and_lessons_end(
    serve: Serve, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shelves, "MOST_FILES", 1)
    monkeypatch.setattr(lesson_files, "MOST_FILES", 1)
    monkeypatch.setattr(lesson_files, "KEPT", 1)
    for name in ("a", "b", "c"):
        moves = {"a": "1. e4", "b": "1. d4", "c": "1. c4"}[name]
        (tmp_path / f"{name}.pgn").write_text(f'[Event "{name}"]\n\n{moves} *\n')
    paths = [str(tmp_path / name) for name in ("a.pgn", "b.pgn")]
    add_collection(tmp_path / "l", paths, "x", AddOptions(plies=20))
    page = serve(tmp_path / "l", lessons=tmp_path)
    assert "The first 1 files are listed." in said(page.get("/library").text)
    assert "1 PGN file." in said(page.get("/lessons").text)
    monkeypatch.setattr(lesson_files, "MOST_FILES", 3)
    assert "b, for White" in said(page.get("/lessons?line=d4").text)


def test_a_game_without_moves_and_one_that_goes_on_alone(serve: Serve, tmp_path: Path) -> None:
    """The second comes to the same position twice; of players over 2000 nothing is known."""
    games = [CLUB[-1], Played("1. Nf3 Nf6 2. Ng1 Ng8 3. Nf3 Nf6", "Vane, Amber", "Marsh, Cleo")]
    (tmp_path / "a.pgn").write_text(pgn(games), "utf-8")
    add_collection(tmp_path / "l", [str(tmp_path / "a.pgn")], "x", AddOptions(plies=20))
    page = serve(tmp_path / "l")
    texts = [said(page.get(f"/game/{number}").text) for number in (1, 2)]
    assert any("At the start" in text and "Next" not in text for text in texts)
    assert any("3... Nf6 100 %*" in text for text in texts)
    assert "3... Nf6 – – 0 0" in said(page.get("/game/2?level=2000%2B").text) + said(
        page.get("/game/1?level=2000%2B").text
    )


def test_costly_replies_from_another_start_lead_on_by_fen(serve: Serve, tmp_path: Path) -> None:
    fen = "rnbqkbnr/pppp1ppp/8/4p3/4P3/5N2/PPPP1PPP/RNBQKB1R b KQkq - 1 7"
    start = (("SetUp", "1"), ("FEN", fen))
    good, bad = "7... Nc6 8. Bb5", "7... f6 8. Nxe5"
    games = [
        evening(line, result, n)._replace(tags=start)
        for line, result in ((good, "1/2-1/2"), (bad, "1-0"))
        for n in range(90)
    ]
    (tmp_path / "a.pgn").write_text(pgn(games), "utf-8")
    add_collection(tmp_path / "l", [str(tmp_path / "a.pgn")], "a", AddOptions(plies=20))
    text = serve(tmp_path / "l").get("/mistakes", params={"fen": fen, "as": "black"}).text
    assert 'href="/mistake?fen=rnbqkbnr' in text
    assert "line=f6" in text


def test_costly_replies_lead_to_the_page_of_the_mistake(serve: Serve, tmp_path: Path) -> None:
    good, bad = "1. e4 e5 2. Nf3 Nc6", "1. e4 e5 2. Nf3 f6 3. Nxe5"
    games = [evening(good, "1/2-1/2", n) for n in range(90)]
    games += [evening(bad, "1-0", n) for n in range(90)]
    (tmp_path / "a.pgn").write_text(pgn(games), "utf-8")
    add_collection(tmp_path / "l", [str(tmp_path / "a.pgn")], "a", AddOptions(plies=20))
    text = serve(tmp_path / "l").get("/mistakes?as=black").text
    assert 'href="/mistake?line=e4+e5+Nf3+f6"' in text
