"""Games, names and a lesson as somebody who means harm would write them."""

from __future__ import annotations

from tests.support.club import Played, evening

SCRIPT = "<script>window.harmed = 1</script>"
HANDLER = "\\\"><img src=x onerror=window.harmed=1>'"  # the backslash is PGN's, before a quote
TURNED = "\u202egro.elpmaxe\u2066\u200f"
LONG = "Very long name " * 690  # 10 kB
FILE_NAME = "'&lt; <img src=x onerror=window.harmed=1> .pgn"
COLLECTION = "<b>evil\" 'n\u202e co"
NAMES = (SCRIPT, HANDLER, TURNED, LONG)


def games() -> list[Played]:
    """Each name as that of the player, the event and the site, in a line that others play too."""
    return [
        Played(
            "1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Qh5+",
            name,
            NAMES[-1 - number],
            1500 + number,
            1400,
            "1-0",
            tags=(("Event", name), ("Site", name), ("Annotator", name)),
        )
        for number, name in enumerate(NAMES)
    ]


def like_games() -> list[Played]:
    """Enough of the usual lines that every kind of page has something to show."""
    lines = (
        ("1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. O-O", "1-0", 40),
        ("1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Qh5+ Ke7", "1-0", 40),
        ("1. e4 e5 2. Nf3 d6 3. d4 exd4", "1/2-1/2", 12),
    )
    return [evening(line, result, n) for line, result, many in lines for n in range(many)]


LESSON = f"""[Event "{SCRIPT}"]
[White "{HANDLER}"]
[Black "{TURNED}"]

1. e4 {{ {SCRIPT} }} e5 2. Nf3 Nc6 ( 2... f6 {{ <img src=x onerror=window.harmed=1> }} 3. Nxe5 )
3. Bc4 *
"""
