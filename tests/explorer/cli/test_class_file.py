"""A class is read from a file, and what is wrong with one is said in a line."""

from __future__ import annotations

from pathlib import Path

import pytest

from explorer.cli.class_file import read_class
from ingest.errors import InputError

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
