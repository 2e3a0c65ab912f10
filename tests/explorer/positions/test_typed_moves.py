import random

import chess
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from explorer.positions.letters import LETTERS, localise
from explorer.positions.position import Position, numbered, position_of
from explorer.positions.typed import parse_position, typed_at
from ingest.errors import PositionError

OPEN = "1. e4 e5 2. Nf3"


@pytest.mark.parametrize(
    "typed",
    [
        "e4 e5 Nf3",
        ["e4", "e5", "Nf3"],
        "1. e4 e5 2. Nf3",
        ["1.", "e4", "e5", "2.", "Nf3"],
        "1.e4 e5 2.Nf3",
        "1.e4, e5, 2.Nf3",
        "1 e4 e5 2 Nf3",
        "1. e4 1... e5 2. Nf3",
        "1.e4 …e5 2.Nf3",
        "e2e4 e7e5 g1f3",
        "e2-e4 e7-e5 Ng1-f3",
        "e2–e4 e7–e5 Ng1–f3",
        "Pe4 Pe5 Ng1f3",
        "♙e4 ♟e5 ♘f3",
        "e4 e5 nf3",
        "1. e4! {best by test} e5?! $6 2. Nf3!? ; the usual move",
        "1. e4 (1. d4 d5 (1... Nf6)) e5 2. Nf3",
        "1. e4 e5 2. Nf3 1-0",
        "1. e4 e5 2. Nf3 *",
        "  '1. e4 e5 2. Nf3'  ",
    ],
)
def test_every_usual_spelling_gives_the_same_position(typed):
    assert parse_position(typed).numbered == OPEN


@pytest.mark.parametrize("typed", ["", [], "   ", "''"])
def test_nothing_typed_is_the_starting_position(typed):
    assert parse_position(typed).board() == chess.Board()


@pytest.mark.parametrize(
    "castling", ["O-O", "0-0", "o-o", "O–O", "4.0-0", "e1g1", "O-O!?", "Ke1-g1"]
)
def test_castling_is_read_with_letters_and_with_zeros(castling):
    assert parse_position(f"e4 e5 Nf3 Nc6 Bc4 Bc5 {castling}").ucis[-1] == "e1g1"


@pytest.mark.parametrize("castling", ["O-O-O", "0-0-0", "e1c1"])
def test_castling_long_is_told_from_castling_short(castling):
    assert parse_position(f"d4 d5 Nc3 Nf6 Bf4 e6 Qd2 Be7 {castling}").ucis[-1] == "e1c1"


@pytest.mark.parametrize(
    "capture", ["exd6", "ed6", "e5d6", "e5xd6", "exd6e.p.", "exd6ep", "exd6 e.p.", "exd6 e.p.!"]
)
def test_en_passant_is_read_with_and_without_its_suffix(capture):
    assert parse_position(f"e4 a6 e5 d5 {capture}").sans[-1] == "exd6"


@pytest.mark.parametrize(
    "promotion", ["fxg8=N", "fxg8N", "fxg8(N)", "fxg8/N", "f7g8n", "f7xg8=N", "fxg8=n"]
)
def test_a_promotion_is_read_in_every_usual_spelling(promotion):
    assert parse_position(f"e4 d5 e5 d4 e6 d3 exf7+ Kd7 {promotion}").ucis[-1] == "f7g8n"


def test_needless_disambiguation_is_allowed():
    assert parse_position("e4 e5 Ngf3 Nb8c6").numbered == "1. e4 e5 2. Nf3 Nc6"


def test_a_pinned_piece_needs_no_telling_apart():
    # PGN standard 8.2.3.4: a pinned piece is no rival.
    assert parse_position("e4 e5 d4 Bb4+ Nc3 Nf6 Ne2").sans[-1] == "Ne2"


def test_moves_may_follow_a_fen():
    position = parse_position("4k3/8/8/8/8/8/4P3/4K3 w - - 5 39 39. e4 Kd7")
    assert position.numbered == "39. e4 Kd7"
    assert parse_position("4k3/8/8/8/8/8/4P3/4K3 w - - e4").numbered == "1. e4"


def test_a_move_beats_a_name_that_begins_alike():
    assert parse_position("e4").numbered == "1. e4"


@pytest.mark.parametrize("typed", ["e4 e5 Sf3 Sc6 Lc4", "e4 e5 Nf3 Sc6 Lc4"])
def test_letters_of_another_language_are_understood_when_english_has_them_not(typed):
    assert parse_position(typed).numbered == "1. e4 e5 2. Nf3 Nc6 3. Bc4"


def test_named_letters_come_before_english_ones():
    # R is the king in French and the rook in English.
    line = "e4 e5 Nf3 Nc6 Be2 Nf6"
    assert parse_position(f"{line} Rf1", "fr").sans[-1] == "Kf1"
    assert parse_position(f"{line} Rf1").sans[-1] == "Rf1"
    assert parse_position(f"{line} Rg1", "fr").sans[-1] == "Rg1"


def test_a_letter_of_pawns_that_is_an_english_piece_asks_which_is_meant():
    with pytest.raises(PositionError, match="move 2, White: Bc4 can be Lc4 or c4"):
        parse_position("e4 e5 Bc4", "de")
    assert parse_position("e4 e5 Bd4", "de").sans[-1] == "d4"


def test_a_language_keeps_english_letters_that_it_has_not():
    assert parse_position("e4 e5 Nf3 Sc6 Bb5", "de").numbered == "1. e4 e5 2. Nf3 Nc6 3. Bb5"


def test_english_letters_are_never_read_as_another_language_unasked():
    with pytest.raises(PositionError, match="Rf3 is not legal"):
        parse_position("e4 e5 Rf3")
    assert parse_position("e4 e5 Rf3", "fi").sans[-1] == "Nf3"


def test_a_line_that_two_languages_read_differently_needs_the_language_named():
    # T is the rook in most languages, S a knight in German and a bishop in Czech.
    line = "d4 d5 c4 e6 Nc3 Nf6 Nf3 Be7 e3 O-O"
    with pytest.raises(PositionError) as refusal:
        parse_position(f"{line} Sd2")
    assert str(refusal.value) == (
        "the piece letters fit several languages; name yours, for example --letters de"
    )
    assert parse_position(f"{line} Sd2", "cs").sans[-1] == "Bd2"
    assert parse_position(f"{line} Sd2", "de").sans[-1] == "Nd2"


def _random_line(seed: int, plies: int) -> Position:
    chance, board = random.Random(seed), chess.Board()
    while len(board.move_stack) < plies and any(board.legal_moves):
        board.push(chance.choice(list(board.legal_moves)))
    return position_of(board)


def _long(position: Position, hyphen: str) -> list[str]:
    board, words = chess.Board(), []
    for uci, san in zip(position.ucis, position.sans, strict=True):
        letter = san[0] if san[0] in "NBRQK" else ""
        words.append(san if san[0] == "O" else f"{letter}{uci[:2]}{hyphen}{uci[2:4]}{uci[4:]}")
        board.push_uci(uci)
    return words


def _styles(position: Position) -> list[str]:
    sans = list(position.sans)
    return [
        " ".join(sans),
        numbered(sans),
        numbered(sans).replace(". ", "."),
        " ".join(position.ucis),
        " ".join(_long(position, "-")),
        " ".join(_long(position, "")),
        " ".join(_long(position, "x")),
        " ".join(f"{san}!? {{a note}} $1" for san in sans),
        " ".join(sans).replace("O", "0").replace("+", "").replace("#", ""),
        " ".join(sans).replace("x", "").replace("=", ""),
    ]


@given(st.integers(0, 2**32), st.integers(0, 60))
@settings(max_examples=25, deadline=None)
def test_any_legal_line_reads_back_the_same_in_every_style(seed, plies):
    position = _random_line(seed, plies)
    for typed in _styles(position):
        assert parse_position(typed) == position


@given(st.integers(0, 2**32), st.integers(0, 60), st.sampled_from(sorted(LETTERS)))
@settings(max_examples=40, deadline=None)
def test_any_legal_line_reads_back_the_same_in_every_language(seed, plies, letters):
    position = _random_line(seed, plies)
    typed = " ".join(localise(san, letters) for san in position.sans)
    assert parse_position(typed, letters) == position


@given(st.integers(0, 2**32), st.integers(0, 60))
@settings(max_examples=25, deadline=None)
def test_any_position_reads_back_from_its_fen_with_its_key(seed, plies):
    position = _random_line(seed, plies)
    for fen in (position.fen, position.board().fen(en_passant="fen"), position.board().epd()):
        assert parse_position(fen).key == position.key
        assert parse_position(fen).fen == position.fen


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("Nc6", "e4 e5 Nf3 Nc6"),
        ("2... Nc6 3. Bc4", "e4 e5 Nf3 Nc6 Bc4"),
        ("nf6", "e4 e5 Nf3 Nf6"),
        ("1. d4 d5", "d4 d5"),  # a move number 1 begins anew
        ("d4 d5 c4", "d4 d5 c4"),  # and so do moves that are illegal here
        ("Italian Game", "e4 e5 Nf3 Nc6 Bc4"),
        (" ", "e4 e5 Nf3"),
    ],
)
def test_moves_typed_at_a_position_go_on_from_it_if_they_can(typed, line):
    assert " ".join(typed_at(parse_position(OPEN), typed).sans) == line


def test_moves_that_can_be_played_nowhere_are_refused_for_the_position_in_view():
    with pytest.raises(PositionError, match="move 2, Black: Qh3"):
        typed_at(parse_position(OPEN), "Qh3")
