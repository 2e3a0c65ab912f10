"""README's pictures are there, small, and shown where the reader comes in."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.pictures import CLASS_VIEW, REPORT, REPORT_SIZE, SAMPLES, SCREEN

README = Path(__file__).parents[1] / "README.md"
SIGNATURE = b"\x89PNG\r\n\x1a\n"  # PNG specification (ISO/IEC 15948), 5.2
SMALL = 120_000  # bytes


@pytest.mark.parametrize(("name", "size"), [(REPORT, REPORT_SIZE), (CLASS_VIEW, SCREEN)])
def test_the_picture_is_a_small_png_of_the_size_it_is_made_in(
    name: str, size: tuple[int, int]
) -> None:
    content = (SAMPLES / name).read_bytes()
    assert content.startswith(SIGNATURE)
    # The header's width and height, each of four bytes: 11.2.2 there.
    assert tuple(int.from_bytes(content[at : at + 4], "big") for at in (16, 20)) == size
    assert len(content) < SMALL


def test_readme_opens_with_the_job_then_the_pictures_then_the_commands() -> None:
    text = README.read_text("utf-8")
    shown = re.findall(r"!\[([^\]]+)\]\(([^)]+)\)", text)
    assert [path for _, path in shown] == [f"sample_games/{REPORT}", f"sample_games/{CLASS_VIEW}"]
    assert all(len(told) > 60 for told, _ in shown)  # those who cannot see them are told
    order = [text.index(part) for part in ("You teach chess openings", "![", "## Try it", "## A f")]
    assert order == sorted(order)


def test_the_first_evening_adds_games_asks_three_questions_and_prints_a_handout() -> None:
    walk = README.read_text("utf-8").split("## A first evening")[1].split("\n## ")[0]
    said = re.findall(r"(?m)^(?:\$|   ) replybook ([a-z]+)", walk)
    assert said == ["demo", "add", "replies", "costly", "mistake", "handout"]
