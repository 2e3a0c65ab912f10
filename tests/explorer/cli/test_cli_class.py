"""`class` and `week`: pages for a class, with nothing of one student on another's page."""

from __future__ import annotations

import json
import shutil
import webbrowser
from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import Played, evening, pgn

LESSON = "1. e4 e5 2. Nf3 Nc6 (2... f6 3. Nxe5) 3. Bc4 Bc5 4. c3 *"
FULL = "1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Qh5+ g6 5. Qxe5+ Qe7 6. Qxh8"
MATE = "1. e4 e5 2. Nf3 d6 3. Bc4 Bg4 4. Nc3 g6 5. Nxe5 Bxd1 6. Bxf7+ Ke7 7. Nd5#"
QUIET = "1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. c3 Nf6 5. d3 d6"
# Two of one pair of initials; names that events, sites and collections give away.
ZORA, ZENO, IGOR = "Quillfeather, Zora", "Quennelstone, Zeno", "Brackwater, Igor"
GUEST = "Whistledown, Una"
CLASS = f"""
[[player]]
name = "{ZORA}"
lesson = "lesson.pgn"
lesson_side = "white"

[[player]]
name = "{ZENO}"
also = ["Z. Quennelstone"]

[[player]]
name = "{IGOR}"
level = "under-800"
level_since = 2026-01-10

[[player]]
name = "Nemoris, Such"
"""


def tagged(line: str, white: str, black: str, day: int, rated: int | None = 900) -> Played:
    given = [name.split(", ")[1] for name in (white, black)]
    tags = (("Event", f"{white} - {black}"), ("Site", f"Hall of {given[0]} and {given[1]}"))
    return Played(line, white, black, rated, rated, "1-0", f"2026.03.{day:02}", tags)


GAMES = [
    *(tagged(MATE if n % 2 else QUIET, ZORA, ZENO, n % 28 + 1) for n in range(20)),
    *(tagged(FULL, ZENO, ZORA, n % 28 + 1) for n in range(20)),
    *(tagged(f"{QUIET} {n + 6}. O-O", ZORA, GUEST, n % 28 + 1) for n in range(1)),
    *(tagged(MATE, GUEST, IGOR, n + 1, None) for n in range(8)),
]


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a class, its lesson and a library, whose collection is named after one."""
    folder = tmp_path_factory.mktemp("home")
    crowd = [evening(FULL if n % 3 else QUIET, "1-0", n) for n in range(240)]
    for name, games in (("season", crowd), ("games of Zora Quillfeather", GAMES)):
        (folder / "add.pgn").write_text(pgn(_apart(games)), "utf-8")
        add_collection(
            folder / "library.duckdb", [str(folder / "add.pgn")], name, AddOptions(plies=20)
        )
    (folder / "lesson.pgn").write_text(LESSON, "utf-8")
    (folder / "class.toml").write_text(CLASS, "utf-8")
    return folder


def _apart(games: list[Played]) -> list[Played]:
    """The games, no two of them equal: each day has a round of its own."""
    return [
        game._replace(date=f"{2024 + n // 300}.{n // 25 % 12 + 1:02}.{n % 25 + 1:02}")
        if game.white in ("Vane, Amber", "Olander, Birk")
        else game
        for n, game in enumerate(games)
    ]


@pytest.fixture
def run(replybook, home: Path, tmp_path: Path):
    """Runs a command in a copy of that folder."""
    for file in home.iterdir():
        shutil.copy(file, tmp_path / file.name)
    return replybook


def pages(folder: Path) -> dict[str, str]:
    return {page.name: page.read_text("utf-8") for page in sorted(folder.glob("*.html"))}


NAMES = [f"student-0{n}" for n in (1, 2, 3)]


def test_a_page_for_each_student_and_an_overview(run, tmp_path: Path) -> None:
    said = run("class", "class.toml", "--since", "2026-03-10")
    assert said.code == Exit.DONE
    assert said.out == f"{Path('class') / 'overview.html'}\n"
    assert said.err.startswith("class.toml: player 'Nemoris, Such': no such name in the library")
    assert said.err.count("\n") == 1
    made = pages(tmp_path / "class")
    assert list(made) == [
        "overview.html",
        "student-01-ZQ.html",
        "student-02-ZQ.html",
        "student-03-IB.html",
    ]
    assert 'href="student-02-ZQ.html">Z. Q. (2)</a>' in made["overview.html"]
    assert "S. N." in made["overview.html"]
    assert "<title>The games of Z. Q. (2)</title>" in made["student-02-ZQ.html"]
    assert "Beside the lesson" in made["student-01-ZQ.html"]
    assert "Beside the lesson" not in made["student-02-ZQ.html"]
    assert "8 games: that is too few" in made["student-03-IB.html"]


def test_nothing_of_one_student_is_on_anothers_page(run, tmp_path: Path) -> None:
    """A search of the bytes for every word of every name, whatever events and collections say."""
    shutil.copy(tmp_path / "class.toml", tmp_path / "zeno-quennelstone.toml")
    run("class", "zeno-quennelstone.toml", "--folder", "out")
    people = {
        "student-01-ZQ.html": ("quillfeather", "zora"),
        "student-02-ZQ.html": ("quennelstone", "zeno"),
        "student-03-IB.html": ("brackwater", "igor"),
        "overview.html": (),
        "": ("whistledown", "una", "nemoris", "olander"),
    }
    made = pages(tmp_path / "out")
    assert len(made) == 4
    for page, html in made.items():
        for words in people.values():
            for word in words:
                assert word not in html.casefold(), (page, word)
        others = [one for one in ("Z. Q. (1)", "Z. Q. (2)", "I. B.") if f"of {one}<" not in html]
        if page != "overview.html":
            assert not any(one in html for one in others), page


def test_full_names_are_a_choice_but_file_names_stay_without(run, tmp_path: Path) -> None:
    run("class", "class.toml", "--names", "full", "--folder", "full")
    made = pages(tmp_path / "full")
    assert list(made)[1] == "student-01-ZQ.html"
    assert "<title>The games of Zora Quillfeather</title>" in made["student-01-ZQ.html"]
    assert "Zora Quillfeather" in made["overview.html"]
    for word in ("Quennelstone", "Zeno", "Whistledown"):
        assert word not in made["student-01-ZQ.html"]


def test_two_runs_are_byte_equal(run, tmp_path: Path) -> None:
    run("class", "class.toml", "--folder", "one")
    before = pages(tmp_path / "one")
    run("class", "class.toml", "--folder", "one")
    assert pages(tmp_path / "one") == before


def test_the_page_says_what_the_json_of_the_student_says(run, tmp_path: Path) -> None:
    run("class", "class.toml")
    page = (tmp_path / "class" / "student-01-ZQ.html").read_text("utf-8")
    told = json.loads(run("student", ZORA, "--students", "class.toml", "--format", "json").out)
    whole = told["short"]["results"][0]
    cells = "".join(f"<td>{whole[name]}</td>" for name in ("games", "wins", "draws", "losses"))
    assert cells in page.replace(' class="muted"', "")
    left = sum(one["games"] for one in told["lesson"]["by_student"])
    assert f"You left it {left} times" in page or not left
    for one in told["mistakes"]["made"]:
        assert f"<td>{one['own']['cases']}</td><td>{one['own']['games']}</td>" in page


def test_pages_of_others_are_not_written_over(run, complains, tmp_path: Path) -> None:
    (tmp_path / "class").mkdir()
    (tmp_path / "class" / "overview.html").write_text("<h1>My own</h1>", "utf-8")
    complains(run("class", "class.toml"), Exit.USAGE, "overview.html", "choose another --folder")
    assert pages(tmp_path / "class") == {"overview.html": "<h1>My own</h1>"}


def test_a_folder_that_cannot_be_made_is_told(run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    said = run("class", "class.toml", "--folder", "file/pages")
    assert said.code == Exit.BAD_INPUT
    assert "the folder cannot be made" in said.err.splitlines()[-1]


def test_pages_left_from_another_time_are_named(run, tmp_path: Path) -> None:
    run("class", "class.toml")
    (tmp_path / "class.toml").write_text(f'[[player]]\nname = "{ZORA}"\n', "utf-8")
    said = run("class", "class.toml")
    assert said.err == (
        "class: left from another time: student-02-ZQ.html, student-03-IB.html; "
        "delete what is old\n"
    )


def test_a_class_of_which_the_library_knows_nobody_is_told(run, tmp_path: Path) -> None:
    (tmp_path / "class.toml").write_text('[[player]]\nname = "Nemoris, Such"\n', "utf-8")
    said = run("class", "class.toml")
    assert said.code == Exit.NOTHING_FOUND
    assert said.err.splitlines()[-1] == (
        "class.toml: the library has games of nobody in it; check the names"
    )
    assert not (tmp_path / "class").exists()


def test_a_lesson_that_cannot_be_read_is_told_with_the_player(
    run, complains, tmp_path: Path
) -> None:
    (tmp_path / "lesson.pgn").unlink()
    complains(
        run("class", "class.toml"), Exit.BAD_INPUT, f"class.toml: player 1 ({ZORA}): ", "lesson.pgn"
    )


def test_the_overview_opens_when_asked(run, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(webbrowser, "open", opened.append)
    run("class", "class.toml", "--open")
    assert len(opened) == 1
    assert opened[0].endswith("/class/overview.html")


def test_the_monday_page(run, tmp_path: Path) -> None:
    said = run("week", "class.toml", "--since", "2026-03-15", "-o", "week.html")
    assert said.out == "week.html\n"
    assert said.err.count("\n") == 1
    html = (tmp_path / "week.html").read_text("utf-8")
    assert "The class since 15 March 2026" in html
    for word in ("quillfeather", "zeno", "brackwater", "whistledown"):
        assert word not in html.casefold()
    assert run("week", "class.toml", "--since", "2026-03-15").out == "week-class-2026-03-15.html\n"
    full = run("week", "class.toml", "--since", "2026-03-15", "--names", "full", "-o", "full.html")
    assert full.code == Exit.DONE
    assert "Zora Quillfeather" in (tmp_path / "full.html").read_text("utf-8")


def test_a_week_without_a_game_or_with_an_odd_file_is_told(run, complains) -> None:
    complains(
        run("week", "class.toml", "--since", "2030"), Exit.NOTHING_FOUND, "no game of the class"
    )
    complains(
        run("week", "class.toml", "--since", "2026", "-o", "week.csv"), Exit.USAGE, "ends in .html"
    )


def test_remake_makes_the_pages_of_a_class_and_a_week_again(run, tmp_path: Path) -> None:
    run("class", "class.toml", "--folder", "pages")
    run("week", "class.toml", "--since", "2026-03-15", "-o", "pages/week.html")
    before = pages(tmp_path / "pages")
    (tmp_path / "pages" / "student-02-ZQ.html").write_text(
        before["student-02-ZQ.html"].replace("Footnotes", "Old notes"), "utf-8"
    )
    said = run("remake", "pages")
    assert said.code == Exit.DONE
    assert said.out.splitlines()[-1] == "5 pages made again."
    assert said.out.count("overview.html") == 1  # all its pages at once
    assert pages(tmp_path / "pages") == before


def test_a_copy_of_a_class_page_is_left_as_it_was(run, tmp_path: Path) -> None:
    """However it is written, the command must not write into another folder."""
    run("class", "class.toml", "--folder", "pages")
    (tmp_path / "copies").mkdir()
    shutil.copy(tmp_path / "pages" / "student-01-ZQ.html", tmp_path / "copies" / "mine.html")
    said = run("remake", "copies")
    assert said.code == Exit.BAD_INPUT
    assert "its command makes pages in another folder (pages); this one is a copy" in said.err
    assert list(pages(tmp_path / "copies")) == ["mine.html"]
