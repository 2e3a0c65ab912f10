"""One game's text, however it is written -> its tags, its mainline and its result.

The reference path of `replay` reads through this module, so that comments,
variations, escape lines, glyphs, odd tag lines and blank lines within the
moves need no care further on. Section numbers are those of the PGN standard.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

TAG = re.compile(r'\[[ \t]*([A-Za-z][^"\[\]\n]{0,99})\s*"((?:[^"\\\n]|\\.)*)"[ \t]*\]')
_TAG_NAME = re.compile(r'\[[ \t]*([A-Za-z](?:[^"\[\]\n]{0,99}(?=")|[^\s"\[\]]*))')
_BETWEEN_TAGS = re.compile(r"(?:\s|^%.*$)*", re.M)
_PART = re.compile(
    r"""
      (?P<aside> \{[^}]*\} | ;.* | ^%.* | <[^>\n]{0,400}> | \[[^\]\n]{0,400}\] | \$[0-9]* )
    | (?P<unclosed> \{ )
    | (?P<open> \( )
    | (?P<close> \) )
    | (?P<word> [^\s{}();$<>\[\]]+ )
    """,
    re.VERBOSE | re.MULTILINE,
)
_NUMBER = re.compile(r"[0-9]+(?:[.…]+|$)|[.…]+")
_MARKS = re.compile(r"[!?‼⁇⁈⁉]+")
_EN_PASSANT = re.compile(r"e\.?p\.?$")
_RESULTS = {
    "1-0": "1-0",
    "0-1": "0-1",
    "1/2-1/2": "1/2-1/2",
    "*": "*",
    # As people write them (common practice, no source).
    "½-½": "1/2-1/2",
    "1/2": "1/2-1/2",
    "½": "1/2-1/2",
    "1-O": "1-0",
    "O-1": "0-1",
}


@dataclass(frozen=True, slots=True)
class GameText:
    """What a game's text says.

    ``tags`` hold their values without escapes, the last of a name counts.
    ``moves`` are the mainline's words without numbers and marks, as written:
    whether they are moves is not looked at. ``result`` is one of the four of
    8.2.6, None when none stands there. ``unclosed`` is "comment" or
    "variation" when one runs to the end of the text, else None.
    """

    tags: dict[str, str]
    moves: tuple[str, ...]
    result: str | None
    unclosed: str | None


def read_text(text: str) -> GameText:
    """Read one game's text; what follows its result is not looked at."""
    tags, at = read_tags(text)
    moves: list[str] = []
    depth = 0
    for part in _PART.finditer(text, at):
        kind = part.lastgroup
        if kind == "unclosed":
            return GameText(tags, tuple(moves), None, "comment")
        if kind == "open":
            depth += 1
        elif kind == "close":
            depth = max(0, depth - 1)
        elif kind == "word" and depth == 0:
            if part[0] in _RESULTS:
                return GameText(tags, tuple(moves), _RESULTS[part[0]], None)
            if move := _move(part[0]):
                moves.append(move)
    return GameText(tags, tuple(moves), None, "variation" if depth else None)


def _move(word: str) -> str:
    """A word of the moves without number, marks and "e.p."; empty when nothing is left."""
    if number := _NUMBER.match(word):
        word = word[number.end() :]
    if word == "--":
        return word
    word = _EN_PASSANT.sub("", _MARKS.sub("", word))
    return word if any(c.isalnum() for c in word) else ""


def read_tags(text: str, at: int = 0) -> tuple[dict[str, str], int]:
    """The tag section that begins at ``at`` -> the tags and where it ends."""
    tags: dict[str, str] = {}
    while True:
        if between := _BETWEEN_TAGS.match(text, at):
            at = between.end()
        if tag := TAG.match(text, at):
            tags[tag[1].rstrip()] = re.sub(r'\\(["\\])', r"\1", tag[2])
            at = tag.end()
        elif name := _TAG_NAME.match(text, at):
            end = text.find("\n", at)
            at = len(text) if end < 0 else end
            tags[name[1].rstrip()] = _odd_value(text[name.end() : at])
        else:
            return tags, at


def _odd_value(rest: str) -> str:
    """The value on a tag line with unescaped or missing quotes, or without its bracket."""
    value = rest.strip().removesuffix("]").strip()
    return value.removeprefix('"').removesuffix('"')


def normalise(text: str) -> str:
    """One game's text in the form that any reader takes: a tag a line, a blank line, the moves.

    Comments, variations, glyphs and move numbers are left out.
    """
    game = read_text(text)
    tags = [f'[{name} "{_escaped(value)}"]\n' for name, value in game.tags.items()]
    return "".join(tags) + "\n" + " ".join((*game.moves, game.result or "*")) + "\n"


def _escaped(value: str) -> str:
    return value.replace("\\", "\\\\").replace('"', '\\"')
