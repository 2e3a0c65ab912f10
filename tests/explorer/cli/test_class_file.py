"""A class is read from a file, and what is wrong with one is said in a line."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from explorer.cli.class_file import Member, read_class, read_members
from ingest.errors import InputError
from ingest.levels import Level

TWO = """
[[player]]
name = "Vane, Amber"
also = ["A. Vane", "Amber  Vane-Doyle"]

[[player]]
name = "Quill, Édda"
"""


def test_each_member_has_one_or_more_spellings(tmp_path: Path) -> None:
    file = tmp_path / "class.toml"
    file.write_text(TWO, "utf-8")
    assert read_class(file) == (
        ("Vane, Amber", "A. Vane", "Amber Vane-Doyle"),
        ("Quill, Édda",),
    )


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    """As some editors write it."""
    file = tmp_path / "class.toml"
    file.write_text(TWO, "utf-8-sig")
    assert len(read_class(file)) == 2


FULL = """
[[player]]
name = "Vane, Amber"
level = "under-800"
level_since = 2026-01-10
lesson = "italian.pgn"
lesson_side = "white"

[[player]]
name = "Fenn, Dario"
level = "800-999"
level_since = "2026-02"

[[player]]
name = "Marsh, Cleo"
level = "unrated"
level_since = 2026-02-03T18:00:00
"""


def test_a_member_may_have_a_level_from_a_day_on_and_a_lesson(tmp_path: Path) -> None:
    """The lesson is looked for from the class file's folder."""
    file = tmp_path / "class.toml"
    file.write_text(FULL, "utf-8")
    amber, dario, cleo = read_members(file)
    lesson = tmp_path / "italian.pgn"
    assert amber == Member(("Vane, Amber",), Level(None, 799), date(2026, 1, 10), lesson, "white")
    assert dario == Member(("Fenn, Dario",), Level(800, 999), date(2026, 2, 1))
    assert cleo.level_since == date(2026, 2, 3)


NAMED = "[[player]]\nname = 'Vane'\n"


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ("level = 900", 'level: not text; put it in quotes, level = "..."'),
        ("level = 'strong'", "level 'strong': not a level; write 800-1199"),
        ("level = '800+'\nlevel_since = 'May'", "date 'May': not a date; write 2025-09-14"),
        ("level_since = 2026-01-01", "level_since without a level; add level"),
        ("lesson = 'a.pgn'", 'lesson_side is no side; write lesson_side = "white" or "black"'),
        ("lesson = 'a.pgn'\nlesson_side = 'red'", "lesson_side is no side"),
        ("lesson_side = 'white'", 'lesson is no file; write lesson = "italian.pgn"'),
        ("lesson = ' '\nlesson_side = 'white'", "lesson is no file"),
        ("levle = '800+'", "'levle' is not known; write one of name, also, level, level_since"),
    ],
)
def test_what_is_wrong_with_a_member_names_the_member(
    tmp_path: Path, more: str, message: str
) -> None:
    file = tmp_path / "class.toml"
    file.write_text(NAMED + more, "utf-8")
    with pytest.raises(InputError) as caught:
        read_members(file)
    assert str(caught.value).startswith(f"{file}: player 1 (Vane): {message}")
    assert "\n" not in str(caught.value)


def test_one_person_twice_is_refused(tmp_path: Path) -> None:
    """In another spelling too; one's own spellings may be alike."""
    file = tmp_path / "class.toml"
    file.write_text("[[player]]\nname='Vane, Amber'\nalso=['AMBER VANE']\n", "utf-8")
    assert len(read_members(file)) == 1
    file.write_text(
        "[[player]]\nname='Vane, Amber'\n[[player]]\nname='A. V.'\nalso=['amber vane']\n", "utf-8"
    )
    with pytest.raises(InputError, match=r"A\. V\. is in it twice \(see Vane, Amber\); keep one"):
        read_members(file)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "no players in it; write for each member:"),
        ("player = 'Vane'", "no players in it; write for each member:"),
        ("[[player]]\nname = Vane", "not TOML ("),
        ("[[player]]\nalso = ['A. Vane']", "player 1 has no name"),
        ("[[player]]\nname = '?'", "player 1 has no name, or an empty one"),
        ("[[player]]\nname = 'Vane'\n[[player]]\nname = 7", "player 2 has no name"),
        ("[[player]]\nname = 'Vane'\nalso = 'A. Vane'", "player 1 has no name, or an empty one"),
        ("player = ['Vane']", "player 1 has no name"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(tmp_path: Path, text: str, message: str) -> None:
    file = tmp_path / "class.toml"
    file.write_text(text, "utf-8")
    with pytest.raises(InputError) as caught:
        read_class(file)
    assert str(caught.value).startswith(f"{file}: {message}")
    assert "\n" not in str(caught.value)


def test_a_file_that_is_not_there_not_readable_or_not_text(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file; check its name and folder"):
        read_class(tmp_path / "none.toml")
    with pytest.raises(InputError, match=r"cannot be read \(.*\); check it"):
        read_class(tmp_path)
    latin = tmp_path / "latin.toml"
    latin.write_bytes('[[player]]\nname = "Édda"'.encode("latin-1"))
    with pytest.raises(InputError, match="not UTF-8 text; save it as UTF-8"):
        read_class(latin)
