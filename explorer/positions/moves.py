"""Moves as people type them: SAN, long algebraic or UCI, with all that PGN allows around them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence

import chess

from explorer.positions.letters import ENGLISH, alphabets, figurines_to_english, letters_named
from ingest.errors import PositionError

_RESULTS = {"1-0", "0-1", "1/2-1/2", "½-½", "*"}
_CASTLING = re.compile(r"[O0o]-[O0o](-[O0o])?")
_SHAPE = re.compile(
    r"(?P<piece>[A-Znrqkp])?-?(?P<file>[a-h])?(?P<rank>[1-8])?[-x:]?"
    r"(?P<to>[a-h][1-8])(?:[=/(]?(?P<promotion>[A-Znbrq])\)?)?"
)
_NUMBER = re.compile(r"[1-9][0-9]*(?:[.…]+|(?=[^-/0-9.…])|$)")


class _IllegalError(Exception):
    """The move at ``index`` of the typed ones cannot be played."""

    def __init__(self, index: int, board: chess.Board) -> None:
        super().__init__(index)
        self.index, self.board = index, board


def looks_like_moves(text: str) -> bool:
    """Whether any word has the form of a move, or the text starts with a move number."""
    words = _words(text) if text.count("{") == text.count("}") else text.split()
    return bool(re.match(r"\s*[1-9][0-9]*\s*[.…]", text)) or any(
        _CASTLING.fullmatch(word) or _SHAPE.fullmatch(word) for word in words
    )


def play(board: chess.Board, text: str, letters: str | None = None) -> None:
    """Push the moves of the text on the board.

    ``letters`` (a language's code or name) is tried before the English ones.
    Without it a line with letters that English has not is read in the one
    way that any language of the table allows.
    PositionError, with the move and its number, when that cannot be done.
    """
    words = _words(text)
    try:
        moves = _read(board, words, letters)
    except _IllegalError as fault:
        raise PositionError(_reason(fault.board, words[fault.index])) from None
    for move in moves:
        board.push(move)


def _words(text: str) -> list[str]:
    """The bare moves of the text: no comments, variations, numbers, marks or results."""
    text = figurines_to_english(re.sub("[‐‑‒–—−]", "-", text))
    text = re.sub(r"\{[^{}]*\}|;[^\n]*|\$[0-9]+", " ", text)
    if "{" in text or "}" in text:
        raise PositionError("a comment in { } is not closed; add the missing brace")
    text = re.sub(r"(?<=[18])\(([A-Za-z])\)", r"=\1", text)
    while text != (shorter := re.sub(r"\([^()]*\)", " ", text)):
        text = shorter
    words = (_bare(word) for word in text.replace(",", " ").split())
    return [word for word in words if word]


def _bare(word: str) -> str:
    """``12...Nxe4+!?`` -> ``Nxe4``; empty when no move is left."""
    if word in _RESULTS:
        return ""
    word = _NUMBER.sub("", word, count=1) if _NUMBER.match(word) else word
    word = word.lstrip(".…").rstrip("!?+#‼⁇⁈⁉")
    return re.sub(r"(^|(?<=[36]))e\.?p\.?$", "", word)


def _read(board: chess.Board, words: Sequence[str], letters: str | None) -> list[chess.Move]:
    if letters is not None:
        try:
            return _read_with(board, words, letters_named(letters))
        except _IllegalError:
            return _read_with(board, words, ENGLISH)
    try:
        return _read_with(board, words, ENGLISH)
    except _IllegalError:
        if not any(word[0] not in ENGLISH + "O" and word[0].isupper() for word in words):
            raise
        readings = _foreign_readings(board, words)
        if len(readings) != 1:
            raise
        return readings[0]


def _foreign_readings(board: chess.Board, words: Sequence[str]) -> list[list[chess.Move]]:
    """The different legal lines that the words give in other languages."""
    readings: list[list[chess.Move]] = []
    for alphabet in alphabets():
        try:
            moves = _read_with(board, words, alphabet)
        except _IllegalError:
            continue
        if moves not in readings:
            readings.append(moves)
    return readings


def _read_with(board: chess.Board, words: Sequence[str], alphabet: str) -> list[chess.Move]:
    board = board.copy(stack=False)
    moves = []
    for index, word in enumerate(words):
        found = _matching(board, word, alphabet)
        if len(found) != 1:
            raise _IllegalError(index, board)
        moves.append(found[0])
        board.push(found[0])
    return moves


def _matching(board: chess.Board, word: str, alphabet: str) -> list[chess.Move]:
    """The legal moves that the word may mean; several when it is ambiguous."""
    if castling := _CASTLING.fullmatch(word):
        wing = board.is_queenside_castling if castling[1] else board.is_kingside_castling
        return [move for move in board.legal_moves if wing(move)]
    shape = _SHAPE.fullmatch(word)
    if not shape:
        return []
    piece, file, rank = shape["piece"], shape["file"], shape["rank"]
    both = file is not None and rank is not None
    if piece is None and not both:
        piece, file = alphabet[0], file or shape["to"][0]
    types = {_piece_type(piece, alphabet)} if piece else set(chess.PIECE_TYPES)
    promotion = _piece_type(shape["promotion"], alphabet) if shape["promotion"] else None
    return [
        move
        for move in board.generate_legal_moves(
            to_mask=chess.BB_SQUARES[chess.parse_square(shape["to"])]
        )
        if board.piece_type_at(move.from_square) in types
        and move.promotion == promotion
        and (file is None or "abcdefgh"[chess.square_file(move.from_square)] == file)
        and (rank is None or chess.square_rank(move.from_square) + 1 == int(rank))
    ]


def _piece_type(letter: str, alphabet: str) -> int:
    """1 to 6; a letter that the language has not is read as English; 0 for neither."""
    letters = alphabet if letter.upper() in alphabet else ENGLISH
    return letters.find(letter.upper()) + 1


def _reason(board: chess.Board, word: str) -> str:
    """One line: where the move stands, what is wrong, and what is meant perhaps."""
    side = "White" if board.turn else "Black"
    where = f"move {board.fullmove_number}, {side}"
    if not any(board.legal_moves):
        how = "checkmate" if board.is_check() else "stalemate"
        return f"{where}: {word} cannot be played, the game is over by {how}; leave it out"
    if several := _matching(board, word, ENGLISH):
        choices = _either(sorted(map(board.san, several)))
        return f"{where}: {word} can be {choices}; write one of them"
    if not (_SHAPE.fullmatch(word) or _CASTLING.fullmatch(word)):
        return f"{where}: {word!r} is not a move; write moves as in 1. e4 e5 2. Nf3"
    if close := _similar(board, word):
        return f"{where}: {word} is not legal; did you mean {_either(close)}?"
    return (
        f"{where}: {word} is not legal, and no legal move looks like it; check the moves before it"
    )


def _similar(board: chess.Board, word: str) -> list[str]:
    """Up to four legal moves that look like the typed one, likest first."""
    uci = re.fullmatch("([a-h][1-8]){2}[nbrq]?", word)
    names = {}
    for move in board.legal_moves:
        name = move.uci() if uci else board.san(move).rstrip("+#")
        names[name.replace("x", "")] = name
    close = difflib.get_close_matches(word.replace("x", ""), sorted(names), n=4, cutoff=0.65)
    return [names[name] for name in sorted(close, key=lambda name: name[0] != word[0])]


def _either(choices: Sequence[str]) -> str:
    """``a``, ``a or b``, ``a, b or c``."""
    return " or ".join(filter(None, [", ".join(choices[:-1]), choices[-1]]))
