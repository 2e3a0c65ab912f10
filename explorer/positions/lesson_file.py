"""The games of a lesson's PGN file, with their variations, comments and marks."""

from __future__ import annotations

import io
import os
import re

import chess
import chess.pgn

from explorer.positions.fen import impossible
from explorer.positions.game_file import text_of
from explorer.positions.position import numbered
from ingest.errors import InputError
from ingest.tags import variant_of

MOST_BYTES = 4_000_000  # a lesson is written by hand; a collection of games is none
MOST_GAMES = 2_000

# What is no movetext, line breaks apart: comments, tags, lines that PGN escapes.
_ASIDE = re.compile(r"\{[^}]*\}|;[^\n]*|^%[^\n]*|^\[[^\n]*\][ \t]*$", re.MULTILINE)
_WORD = re.compile(
    r"\d+\.*|\.+|\$\d+|[!?]{1,2}|e\.?p\.?|1-0|0-1|1/2-1/2|\*"
    r"|(?:\d+\.+)?(?:[NBRQKP]?[a-h]?[1-8]?[-x]?[a-h][1-8](?:=?[NBRQnbrq])?|[O0]-[O0](?:-[O0])?)"
    r"[+#]*[!?]*"
)


def read_games(path: str) -> list[chess.pgn.Game]:
    """The games of a file, in order; variations, comments and marks are kept.

    InputError, in one line, when the file cannot be read, is none, has no move in
    it, is far too large for a lesson, or has an illegal move: line and move are named.
    """
    if os.path.isfile(path) and os.path.getsize(path) > MOST_BYTES:
        raise InputError(
            f"{path}: too large for a lesson; games are added to the library with: replybook add"
        )
    text = text_of(path)
    if "\0" in text:
        raise InputError(f"{path}: not a PGN file; give a lesson as PGN with variations")
    _refuse_strange_words(path, text)
    games = _games(path, _Lines(text))
    if not any(game.variations for game in games):
        raise InputError(f"{path}: no move in it; give a lesson as PGN with variations")
    return games


def _refuse_strange_words(path: str, text: str) -> None:
    """InputError at the first word that is none of PGN: the reader would pass over it."""
    movetext = _ASIDE.sub(lambda found: "\n" * found[0].count("\n"), text.removeprefix("\ufeff"))
    for number, line in enumerate(movetext.split("\n"), start=1):
        for word in re.split(r"[\s()]+", line):
            if word.startswith("{"):
                raise InputError(f"{path}, line {number}: a comment in {{ }} is not closed")
            if word and not _WORD.fullmatch(word):
                raise InputError(
                    f"{path}, line {number}: {word[:40]!r} is no move; write moves in PGN, with "
                    "the English piece letters"
                )


def _games(path: str, lines: _Lines) -> list[chess.pgn.Game]:
    games: list[chess.pgn.Game] = []
    while game := chess.pgn.read_game(lines, Visitor=lambda: _Reader(path, lines)):
        number = len(games) + 1
        if variant := variant_of(game.headers):
            raise InputError(
                f"{path}: game {number} is {variant}, not chess by the usual rules; leave it out"
            )
        if reason := impossible(game.board()):
            raise InputError(
                f"{path}: game {number} has an impossible FEN tag ({reason}); correct it"
            )
        games.append(game)
        if len(games) > MOST_GAMES:
            raise InputError(
                f"{path}: more than {MOST_GAMES} games, which is no lesson; games are added to "
                "the library with: replybook add"
            )
    return games


class _Lines(io.StringIO):
    """A text that knows how many of its lines were read."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.read_so_far = 0

    def readline(self, size: int | None = -1, /) -> str:  # type: ignore[override]
        line = super().readline(-1 if size is None else size)
        self.read_so_far += bool(line)
        return line


class _Reader(chess.pgn.GameBuilder[chess.pgn.Game]):
    """Builds a game; the first fault ends the reading."""

    def __init__(self, path: str, lines: _Lines) -> None:
        super().__init__(Game=chess.pgn.Game)
        self.path, self.lines = path, lines

    def visit_header(self, tagname: str, tagvalue: str) -> None:
        """A tag's value as it is meant: a backslash stands before a quote or itself (PGN
        standard, section 7)."""
        super().visit_header(tagname, re.sub(r"\\([\"\\])", r"\1", tagvalue))

    def handle_error(self, error: Exception) -> None:
        """Raise what is wrong, with its line and move."""
        where = f"{self.path}, line {self.lines.read_so_far}"
        typed = re.search(r"san: '([^']*)'", str(error))
        if typed is None:
            raise InputError(f"{where}: cannot be read as PGN ({error}); correct it") from error
        board = self.variation_stack[-1].board()
        number = f"{board.fullmove_number}{'.' if board.turn else '...'}"
        start = self.game.headers.get("FEN")
        sans = numbered([node.san() for node in _path(self.variation_stack[-1])], start)
        after = f" after {sans}" if sans else ""
        raise InputError(
            f"{where}: {number} {typed[1]} is not a legal move{after}; correct it"
        ) from error


def _path(node: chess.pgn.GameNode) -> list[chess.pgn.ChildNode]:
    """The moves that lead to a node."""
    path = []
    while isinstance(node, chess.pgn.ChildNode):
        path.append(node)
        node = node.parent
    return path[::-1]
