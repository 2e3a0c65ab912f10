"""Piece letters of other languages in games: read where that is sure, and only there."""

from __future__ import annotations

import random

import chess
import pytest

from ingest.letters import ENGLISH, LETTERS, OTHERS, capitals, in_english
from ingest.reference import Reading, read_game
from tests.support.game_texts import play

TAGS = '[Event "Invented Cup"]\n[White "Ada Example"]\n\n'
PROMOTING = '[FEN "8/P3k3/8/8/8/8/8/4K3 w - - 0 1"]\n\n'


def read(moves: str) -> Reading:
    return read_game(TAGS + moves)


def line(reading: Reading) -> str:
    return " ".join(move.uci() for move in reading.board.move_stack)


@pytest.mark.parametrize(
    ("word", "letters", "english"),
    [
        ("Sf3", "de", "Nf3"),
        ("Nf3", "de", None),
        ("a8=D+", "de", "a8=Q+"),
        ("Be4", "de", None),
        ("Rxf7", "fr", "Kxf7"),
        ("exd5", "fr", "exd5"),
        ("O-O", "fr", "O-O"),
        ("0-0-0+", "fr", "0-0-0+"),
        ("O-O", "nl", "O-O"),
    ],
)
def test_a_move_is_put_into_english_letters(word: str, letters: str, english: str | None) -> None:
    """Every letter must be one of the language; castling is the same in all."""
    assert in_english(word, LETTERS[letters][1]) == english


def test_the_order_of_trying() -> None:
    """Languages go in a fixed order; those that share their letters go as one."""
    assert list(OTHERS.values())[:4] == [
        "German (or Danish, Norwegian, Swedish)",
        "French",
        "Spanish (or Italian)",
        "Dutch",
    ]
    assert set(OTHERS) == {letters for _, letters in LETTERS.values()} - {ENGLISH}


@pytest.mark.parametrize("code", [code for code in LETTERS if code != "en"])
@pytest.mark.parametrize("seed", range(4))
def test_random_games_in_every_language(code: str, seed: int) -> None:
    """A game in a language's letters is read to its moves, or left alone, never to others."""
    letters = LETTERS[code][1]
    board = play(random.Random(seed), 80)
    start, words = board.root(), []
    for move in board.move_stack:
        words.append(start.san(move).translate(str.maketrans(ENGLISH, letters)))
        start.push(move)
    assert any(map(capitals, words))
    reading = read(" ".join(words))
    assert reading.board.move_stack == board.move_stack[: len(reading.board.move_stack)]
    assert reading.letters or "different games" in (reading.reason or "")


@pytest.mark.parametrize(
    ("moves", "uci", "language"),
    [
        ("1. e4 e5 2. Sf3 Sc6 3. Lc4 *", "e2e4 e7e5 g1f3 b8c6 f1c4", "German"),
        ("1. e4 e5 2. Cf3 Cc6 3. Fc4 *", "e2e4 e7e5 g1f3 b8c6 f1c4", "French"),
        ("1. e4 e5 2. Cf3 Cc6 3. Ac4 *", "e2e4 e7e5 g1f3 b8c6 f1c4", "Spanish (or Italian)"),
        ("1. e4 e5 2. Pf3 Pc6 3. Lc4 d6 4. Pc3 *", "e2e4 e7e5 g1f3 b8c6 f1c4 d7d6 b1c3", "Dutch"),
        ("1. e4 e5 2. Sf3 (2. Nc3) Sc6", "e2e4 e7e5 g1f3 b8c6", "German"),
        ("1. e4 e5 2. Sg1-f3 Sb8c6", "e2e4 e7e5 g1f3 b8c6", "German"),
        ("1. e4 e5 2. Cf3 Cc6", "e2e4 e7e5 g1f3 b8c6", "French"),
    ],
)
def test_a_game_in_other_letters(moves: str, uci: str, language: str) -> None:
    """Where English fails and another language reads the whole game, that one counts."""
    reading = read(moves)
    assert reading.reason is None
    assert line(reading) == uci
    assert (reading.letters or "").startswith(language)


@pytest.mark.parametrize("promotion", ["a8D", "a8=D", "a8(D)", "a7-a8D", "a8=D+"])
def test_promotion_in_other_letters(promotion: str) -> None:
    """The piece promoted to has the language's letter as well."""
    assert line(read_game(PROMOTING + f"1. {promotion} *")) == "a7a8q"


@pytest.mark.parametrize(
    ("moves", "reason", "kept"),
    [
        ("1. e4 e5 2. Sf3 Nc6", "unreadable move 2.Sf3", 2),
        ("1. e4 e5 2. Sf3 Sc6 3. Lc5", "unreadable move 2.Sf3", 2),
        ("1. e4 e5 2. Sf3 Sc6 {open", "unreadable move 2.Sf3", 2),
        ("1. e4 e5 2. Nf3 Nxe4", "illegal move 2...Nxe4", 3),
        ("1. e4 e5 2. e5", "illegal move 2.e5", 2),
    ],
)
def test_a_language_must_read_the_whole_game(moves: str, reason: str, kept: int) -> None:
    """A game that no language reads to its end is cut where English ends."""
    reading = read(moves)
    assert (reading.reason, reading.letters) == (reason, None)
    assert len(reading.board.move_stack) == kept


def test_english_comes_first() -> None:
    """What English reads whole stays so, though in Dutch these would be knights."""
    reading = read("1. Pf3 d5 2. Pc3 *")
    assert (line(reading), reading.letters) == ("f2f3 d7d5 c2c3", None)


def test_languages_that_disagree() -> None:
    """Se2 is a German knight or a Czech bishop: such a game is cut where English ends, and says
    which languages; later moves may decide."""
    reading = read("1. e4 d5 2. Se2 *")
    assert (line(reading), reading.letters) == ("e2e4 d7d5", None)
    assert reading.reason == (
        "unreadable move 2.Se2; with German (or Danish, Norwegian, Swedish) piece letters "
        "or with Czech it would be different games"
    )
    reading = read("1. e4 d5 2. Se2 Sf6 *")
    assert line(reading) == "e2e4 d7d5 g1e2 g8f6"


def test_both_colours_of_figurines() -> None:
    """Figurines name the same piece in every language and need no remark."""
    reading = read("1. e4 e5 2. ♘f3 ♞c6 *")
    assert (line(reading), reading.letters) == ("e2e4 e7e5 g1f3 b8c6", None)


def test_board_untouched_by_failed_languages() -> None:
    """The part that English reads is kept as it was."""
    reading = read("1. Nf3 Nf6 2. Tg1 *")
    assert (
        reading.board.fen()
        == chess.Board("rnbqkb1r/pppppppp/5n2/8/8/5N2/PPPPPPPP/RNBQKB1R w KQkq - 2 2").fen()
    )
    assert len(reading.snapshots) == 3
