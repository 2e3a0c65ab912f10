"""The reference reader: one game's text, word by word, with python-chess as the judge.

It reads what the fast reader refuses, and gives the reason where a text cannot
be read. Words are taken apart here and not by ``chess.pgn``, which passes over
what it does not know: of a German ``Sf3`` it would keep the pawn move ``f3``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

import chess

from ingest.games import snapshot
from ingest.headers import tag_name
from ingest.letters import CASTLING, OTHERS, capitals, figurines_to_english, in_english
from ingest.poskey import key_of
from ingest.tags import variant_of

# PGN standard: tags 8.1, comments and variations 5 and 8.2.5, escape lines 6, reserved
# brackets 7, results 8.2.6. Words stop where those begin: "12.Nf3{good}(12.d4)" needs no blanks.
_TOKEN = re.compile(
    r"""(?P<skip>\s+ | ^%[^\n]* | ;[^\n]* | \{[^}]*\} | <[^<>\n]*> | \\?\$[0-9]* | [!?.\]}]+
        | e\.\s?p\. | (?<=[36])ep\b)
    | (?P<tag>\[)
    | (?P<comment>\{)
    | (?P<open>\()
    | (?P<close>\))
    | (?P<result>\*
        | (?:1[-–][0O] | [0O][-–]1 | 1/2[-–]1/2 | ½[-–]½ | 1/2 | ½)(?![^\s(){}\[\];$!?*.<\\]))
    | (?P<word>(?:[a-h]x)?[a-h][18]\([A-Z]\)
        | (?:(?!e\.\s?p\.|(?<=[36])ep\b)[^\s(){}\[\];$!?*.<\\])+ | [<\\])""",
    re.VERBOSE | re.MULTILINE,
)
# A tag as it should be, else one with stray quotes or without its end (import format is lax: 3.1).
_TAG = re.compile(r'\[\s*([^\s"\[\]]+)\s*"((?:[^"\\\n]|\\[^\n])*)"[ \t\r]*(?:\]|$)', re.MULTILINE)
_LAX_TAG = re.compile(r'\[\s*([^\s"\[\]]+)\s*"([^\n]*)')

# Judgements that stand between moves in old files.
_SIGNS = frozenset(
    (
        "=",
        "+=",
        "=+",
        "+/=",
        "=/+",
        "+/-",
        "-/+",
        "+-",
        "-+",
        "±",
        "∓",
        "⩲",
        "⩱",
        "∞",
        "N",
        "D",
        "ep",
    )
)
_NUMBER = re.compile(r"[0-9]+(?=[a-hKQRBNPO]|$)")
# What python-chess refuses: a named pawn, a capture without its file, a bracketed promotion.
_PAWN_MOVE = re.compile(r"P?([a-h]?)([1-8]?)(x?)([a-h][1-8])(?:[=/]?\(?([NBRQnbrq])\)?)?")
_LONGEST_WORD, _LONGEST_FEN = 20, 80  # characters that a reason shows

_RESULTS = {"*": "*", "10": "1-0", "01": "0-1"}


@dataclass(frozen=True, slots=True)
class Start:
    """A game's first position. ``fen`` is None for the normal one."""

    fen: str | None
    key: int
    reason: str | None  # why no game can start here


@dataclass(slots=True)
class Reading:
    """What became of one game's text.

    ``reason`` says in one plain sentence what stopped the reading, or None.
    The moves before it stand, unless ``usable`` is False.
    """

    headers: dict[str, str] = field(default_factory=dict)
    board: chess.Board = field(default_factory=chess.Board)  # the last position; holds the moves
    snapshots: list[tuple[int, ...]] = field(default_factory=list)  # of every position
    token: str | None = None  # the result after the moves: 1-0, 0-1, 1/2-1/2 or *
    start_fen: str | None = None
    reason: str | None = None
    usable: bool = True
    letters: str | None = None  # the language of the piece letters, unless English


@lru_cache(4096)
def start_of(fen: str) -> Start:
    """The position of a FEN tag; ``reason`` is set when standard chess cannot start there."""
    try:
        board = chess.Board(fen)
    except ValueError:
        return Start(None, 0, f"the FEN tag cannot be read: '{_shown(fen, _LONGEST_FEN)}'")
    if status := board.status():
        faults = ", ".join(str(flag.name).lower().replace("_", " ") for flag in status)
        return Start(None, 0, f"the FEN tag gives an impossible position: {faults}")
    normal = board.epd() == chess.STARTING_FEN.rsplit(" ", 2)[0]
    return Start(None if normal else board.fen(), key_of(board), None)


def read_game(text: str) -> Reading:
    """Read the first game of a text: its tags, its mainline and its result.

    Where English piece letters fail, those of another language may read it whole.
    """
    reader = _Reader(text)
    reading = reader.read()
    return _by_language(reader) if reader.stuck and reader.capitals else reading


def _by_language(english: _Reader) -> Reading:
    """The whole game by another language's letters if that is sure, else what English made of it.

    Of languages that read it alike the first is named. Where they read it to
    different moves, a short game is better than a wrong one.
    """
    whole: dict[str, Reading] = {}
    for letters, language in OTHERS.items():
        if english.capitals <= set(letters[1:]):
            reading = _Reader(english.text, letters).read()
            if reading.reason is None:
                whole[language] = reading
    if not whole:
        return english.reading
    language, reading = next(iter(whole.items()))
    for other, others in whole.items():
        if others.board.move_stack != reading.board.move_stack:
            english.reading.reason = (
                f"{english.reading.reason}; with {language} piece letters or with {other} "
                "it would be different games"
            )
            return english.reading
    reading.letters = language
    return reading


class _Reader:
    """Reads one text, token by token."""

    def __init__(self, text: str, letters: str | None = None) -> None:
        self.text = text.removeprefix("\ufeff")
        self.letters = letters  # of the pieces, in the order of ENGLISH; None: English
        self.capitals: set[str] = set()  # that name pieces in the moves
        self.stuck = False  # at a move
        self.reading = Reading()
        self.depth = 0  # of variations
        self.begun = False
        self.latest = ""  # the latest move as people write it, "12...Qe7"

    def read(self) -> Reading:
        reading, at = self.reading, 0
        while at < len(self.text) and not reading.reason and not reading.token:
            match = _TOKEN.match(self.text, at)
            if match is None:
                raise AssertionError("every character belongs to some token")
            at = self._take(match)
        if not self.begun:
            self._begin()
        if self.depth and not reading.reason and not reading.token:
            reading.reason = f"a variation {self._place()} is never closed"
        if not reading.board.move_stack:
            self._judge_empty()
        return reading

    def _take(self, match: re.Match[str]) -> int:
        """Deal with one token; where the next one begins."""
        kind, word = match.lastgroup, match.group()
        if kind == "tag":
            return self._take_tag(match.start())
        if kind == "comment":
            self.reading.reason = f"a comment {self._place()} is never closed"
        elif kind == "open":
            self.depth += 1
        elif kind == "close":
            self.depth = max(self.depth - 1, 0)
        elif kind == "result" and not self.depth:
            self.reading.token = _RESULTS.get(re.sub("[-–]", "", word.replace("O", "0")), "1/2-1/2")
        elif kind == "word" and not self.depth:
            self._take_word(word)
        return match.end()

    def _take_tag(self, at: int) -> int:
        """Keep a tag that stands before the moves; the latest of one name counts."""
        match = _TAG.match(self.text, at) or _LAX_TAG.match(self.text, at)
        if match is None:
            return at + 1
        value = match[2]
        if match.re is _LAX_TAG:
            value = value.rstrip().removesuffix("]").rstrip().removesuffix('"')
        if not self.begun and not self.depth:
            self.reading.headers[tag_name(match[1])] = value
        return match.end()

    def _take_word(self, word: str) -> None:
        if number := _NUMBER.match(word):
            word = word[number.end() :]
        if not word or word in _SIGNS:
            return
        if not self.begun:
            self._begin()
        if self.reading.usable:
            self._play(word)

    def _begin(self) -> None:
        """All tags are known: set the first position up."""
        self.begun = True
        reading = self.reading
        fen = reading.headers.get("FEN", "").strip()
        if variant := variant_of(reading.headers):
            reading.reason = f"played by the rules of {variant}, not of standard chess"
        elif fen and (start := start_of(fen)).reason:
            reading.reason = start.reason
        elif fen:
            reading.board, reading.start_fen = chess.Board(fen), start.fen
        reading.usable = reading.reason is None
        reading.snapshots.append(snapshot(reading.board))

    def _play(self, word: str) -> None:
        """Play one move of the mainline, or say why not."""
        board = self.reading.board
        dots = "." if board.turn else "..."
        place = f"{board.fullmove_number}{dots}{_shown(word, _LONGEST_WORD)}"
        try:
            move = self._move(word)
        except ValueError as error:
            self.stuck = True
            self.reading.reason = f"{_trouble(error)} move {place}"
            return
        if not move:
            self.reading.reason = f"null move {place}"
            return
        board.push(move)
        self.reading.snapshots.append(snapshot(board))
        self.latest = place

    def _move(self, word: str) -> chess.Move:
        """A word of the mainline -> the move, by the reader's letters."""
        self.capitals |= capitals(word)
        english = word if self.letters is None else in_english(word, self.letters)
        if english is None:
            raise chess.InvalidMoveError(word)
        return move_of(self.reading.board, english)

    def _place(self) -> str:
        return f"after {self.latest}" if self.latest else "before the first move"

    def _judge_empty(self) -> None:
        """A game without moves is one when its tags or its result say so."""
        reading = self.reading
        if not reading.reason and not reading.headers and not reading.token:
            reading.reason = "no tags, no moves and no result"
        reading.usable = reading.reason is None


def _shown(text: str, longest: int) -> str:
    return "".join(c if c.isprintable() else "?" for c in text[:longest])


def _trouble(error: ValueError) -> str:
    if isinstance(error, chess.AmbiguousMoveError):
        return "ambiguous"
    return "illegal" if isinstance(error, chess.IllegalMoveError) else "unreadable"


def move_of(board: chess.Board, word: str) -> chess.Move:
    """A move as written -> the move. The ValueErrors of ``chess.Board.parse_san``.

    Besides SAN: long algebraic and coordinate moves, castling with zeros or small
    letters, promotion without ``=``, named pawns, figurines. ``Move.null()`` for a
    null move.
    """
    word = figurines_to_english(word).rstrip("+#=")
    if CASTLING.fullmatch(word):
        word = re.sub("[0o]", "O", word)
    try:
        return board.parse_san(word)
    except ValueError:
        pawn_move = _PAWN_MOVE.fullmatch(word)
        if pawn_move is None:
            raise
        found = list(_pawn_moves(board, *pawn_move.groups()))
        if len(found) == 1:
            return found[0]
        raise


def _pawn_moves(
    board: chess.Board, file: str | None, rank: str | None, takes: str, goal: str, piece: str | None
) -> Iterator[chess.Move]:
    """The legal pawn moves that answer a description."""
    to_square = chess.parse_square(goal)
    promotion = chess.PIECE_SYMBOLS.index(piece.lower()) if piece else None
    pawns = board.pieces_mask(chess.PAWN, board.turn)
    for move in board.generate_legal_moves(pawns, chess.BB_SQUARES[to_square]):
        name = chess.square_name(move.from_square)
        straight = name[0] == goal[0]
        if (
            move.promotion == promotion
            and (file or name[0]) == name[0]
            and (rank or name[1]) == name[1]
            and straight == (not takes and (file or goal[0]) == goal[0])
        ):
            yield move
