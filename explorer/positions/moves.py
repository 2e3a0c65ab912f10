"""Moves as people type them: SAN, long algebraic or UCI, with all that PGN allows around them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence

import chess

from explorer.positions.letters import (
    ENGLISH,
    alphabets,
    figurines_to_english,
    letters_named,
    localise,
)
from ingest.errors import PositionError

_RESULTS = {"1-0", "0-1", "1/2-1/2", "½-½", "*"}
_CASTLING = re.compile(r"[O0o]-[O0o](-[O0o])?")
_SHAPE = re.compile(
    r"(?P<piece>[A-Znrqkp])?-?(?P<file>[a-h])?(?P<rank>[1-8])?[-x:]?"
    r"(?P<to>[a-h][1-8])(?:[=/(]?(?P<promotion>[A-Znbrq])\)?)?"
)
_NUMBER = re.compile(r"[1-9][0-9]*(?:[.…]+|(?=[^-/0-9.…])|$)")


class _IllegalError(Exception):
    """A word that means no move or, with ``found``, several."""

    def __init__(self, word: str, board: chess.Board, found: Sequence[chess.Move]) -> None:
        super().__init__(word)
        self.word, self.board, self.found = word, board, found


def looks_like_moves(text: str) -> bool:
    """Whether any word has the form of a move, or the text starts with a move number."""
    words = _words(text) if text.count("{") == text.count("}") else text.split()
    return bool(re.match(r"\s*[1-9][0-9]*\s*[.…]", text)) or any(
        _CASTLING.fullmatch(word) or _SHAPE.fullmatch(word) for word in words
    )


def play(board: chess.Board, text: str, letters: str | None = None) -> None:
    """Push the moves of the text on the board.

    ``letters`` (a language's code or name) is tried before English for each
    move. Without it, a line with letters that English has not is read if the
    languages of the table allow just one reading.
    PositionError, with the move and its number, when that cannot be done.
    """
    words = _words(text)
    try:
        moves = _read(board, words, letters)
    except _IllegalError as fault:
        raise PositionError(_reason(fault, letters or "en")) from None
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
        return _read_with(board, words, letters_named(letters))
    try:
        return _read_with(board, words, ENGLISH)
    except _IllegalError:
        if not any(word[0].isupper() and word[0] not in ENGLISH + "O" for word in words):
            raise
        readings = _foreign_readings(board, words)
        if not readings:
            raise
    if len(readings) > 1:
        raise PositionError(
            "the piece letters fit several languages; name yours, for example --letters de"
        )
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
    for word in words:
        found = _meant(board, word, alphabet)
        if len(found) != 1:
            raise _IllegalError(word, board, found)
        moves.append(found[0])
        board.push(found[0])
    return moves


def _meant(board: chess.Board, word: str, alphabet: str) -> list[chess.Move]:
    """The moves that the word means with these letters, else with the English ones.

    A pawn's letter is hardly ever written: where it is a piece's in English (German ``B``),
    the word may mean either.
    """
    found = _matching(board, word, alphabet)
    if found and word[0] != alphabet[0]:
        return found
    english = _matching(board, word, ENGLISH)
    return [*found, *(move for move in english if move not in found)]


def _matching(board: chess.Board, word: str, alphabet: str) -> list[chess.Move]:
    """The legal moves that the word may mean; several when it is ambiguous."""
    if castling := _CASTLING.fullmatch(word):
        wing = board.is_queenside_castling if castling[1] else board.is_kingside_castling
        return [move for move in board.legal_moves if wing(move)]
    shape = _SHAPE.fullmatch(word)
    if not shape:
        return []
    both = bool(shape["file"] and shape["rank"])
    piece = shape["piece"] or (None if both else alphabet[0])
    is_pawn = piece is not None and piece.upper() == alphabet[0]
    start = (shape["file"] or (shape["to"][0] if is_pawn else ""), shape["rank"] or "")
    types = {alphabet.find(piece.upper()) + 1} if piece else set(chess.PIECE_TYPES)
    promotion = alphabet.find(shape["promotion"].upper()) + 1 if shape["promotion"] else None
    return [
        move
        for move in board.legal_moves
        if chess.square_name(move.to_square) == shape["to"]
        and board.piece_type_at(move.from_square) in types
        and move.promotion == promotion
        and all(part in chess.square_name(move.from_square) for part in start)
        and (both or not board.is_castling(move))
    ]


def _reason(fault: _IllegalError, letters: str) -> str:
    """One line: where the move stands, what is wrong, and what is meant perhaps."""
    board, word = fault.board, fault.word
    where = f"move {board.fullmove_number}, {'White' if board.turn else 'Black'}"
    if not any(board.legal_moves):
        how = "checkmate" if board.is_check() else "stalemate"
        return f"{where}: {word} cannot be played, the game is over by {how}; leave it out"
    if fault.found:
        choices = _either(sorted(localise(board.san(move), letters) for move in fault.found))
        return f"{where}: {word} can be {choices}; write one of them"
    if not (_SHAPE.fullmatch(word) or _CASTLING.fullmatch(word)):
        return f"{where}: {word!r} is not a move; write moves as in 1. e4 e5 2. Nf3"
    if close := _similar(board, word, letters):
        return f"{where}: {word} is not legal; did you mean {_either(close)}?"
    return (
        f"{where}: {word} is not legal, and no legal move looks like it; check the moves before it"
    )


def _similar(board: chess.Board, word: str, letters: str) -> list[str]:
    """Up to four legal moves that look like the typed one: first those of the same piece."""
    uci = re.fullmatch("([a-h][1-8]){2}[nbrq]?", word)
    names = {}
    for move in board.legal_moves:
        name = move.uci() if uci else localise(board.san(move).rstrip("+#"), letters)
        names[name.replace("x", "")] = name
    close = difflib.get_close_matches(word.replace("x", ""), sorted(names), n=4, cutoff=0.65)
    return [names[name] for name in sorted(close, key=lambda name: name[0] != word[0])]


def _either(choices: Sequence[str]) -> str:
    """``a``, ``a or b``, ``a, b or c``."""
    return " or ".join(filter(None, [", ".join(choices[:-1]), choices[-1]]))
