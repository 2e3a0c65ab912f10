"""Each definition of a habit, on games written down by hand."""

from __future__ import annotations

import chess
import numpy as np
import pytest

from explorer.positions.walking import walk
from explorer.query.habit_rules import MATED, NOT_ASKED, PLIES, RULES, Played, marks, records
from explorer.query.moves import pack

RULE = {rule.id: rule for rule in RULES}
ROUND = "Nf3 Nf6 Ng1 Ng8 "  # two moves of each side that change nothing


def shown(habit: str, line: str, white: bool = True, known: bool = True) -> int:
    """What a rule sees in one game; ``known``: its result is."""
    board = chess.Board()
    moves = [board.push_san(san) for san in line.split()]
    row = np.zeros((1, PLIES), np.uint16)
    packed = [pack(move) for move in moves[:PLIES]]
    row[0, : len(packed)] = packed
    lengths = np.array([len(moves)])
    mate = np.array([board.is_checkmate()])
    record = records(walk(chess.Board(), row, lengths), lengths, mate, mate | known)
    return int(marks(RULE[habit], Played(white, record))[0])


def padded(line: str, plies: int = 36) -> str:
    """The line and then moves that take nothing, give no check and change nothing."""
    board = chess.Board()
    sans = [*line.split()]
    for san in sans:
        board.push_san(san)
    while len(sans) < plies:
        calm = [
            m for m in board.legal_moves if not board.is_capture(m) and not board.gives_check(m)
        ]
        sans.append(board.san_and_push(min(calm, key=lambda move: move.uci())))
    return " ".join(sans)


ITALIAN = "e4 e5 Nf3 Nc6 Bc4 Bc5"


def test_castling_counts_from_the_move_it_is_made() -> None:
    line = f"{ITALIAN} O-O Nf6 d3 d6 c3 O-O h3 h6 Nbd2 a6"
    assert shown("castled_by_8", line) == 1
    assert shown("castled_by_8", line, white=False) == 1
    late = f"{ITALIAN} d3 d6 c3 a6 h3 h6 a4 a5 Nbd2 Nf6 O-O O-O b3 b6"
    assert shown("castled_by_8", late) == 0
    assert shown("castled_by_10", late) == 1


def test_a_king_that_walks_to_g1_has_not_castled() -> None:
    line = f"{ITALIAN} Kf1 Nf6 d3 d6 Kg1 O-O h3 h6 c3 a6 a4 a5 Qe2 Qe7 Nbd2 Be6 b3 b6 Bb2 Rad8"
    assert shown("castled_by_8", line) == 0
    assert shown("castled_king_side_by_12", line) == 0
    assert shown("king_moved_by_12", line) == 1
    assert shown("castled_king_side_by_12", line, white=False) == 1
    assert shown("king_moved_by_12", line, white=False) == 0


def test_the_side_of_castling_is_told_apart() -> None:
    line = "d4 d5 Nc3 Nf6 Bf4 e6 Qd2 Be7 O-O-O O-O " + "a3 a6 b3 b6 f3 c6 g3 g6 h3 h6 e3 h5 e4 h4"
    assert shown("castled_queen_side_by_12", line) == 1
    assert shown("castled_king_side_by_12", line) == 0
    assert shown("castled_queen_side_by_12", line, white=False) == 0
    assert shown("castled_king_side_by_12", line, white=False) == 1


def test_a_king_that_moves_after_castling_moved_late() -> None:
    line = f"{ITALIAN} O-O Nf6 Kh1 d6 d3 O-O h3 Kh8 c3 a6 a4 a5 Qe2 Qe7 Nbd2 Be6 b3 b6 Bb2 Rad8"
    assert shown("king_moved_by_12", line) == 0
    assert shown("king_moved_by_12", line, white=False) == 0


@pytest.mark.parametrize("habit", ["castled_by_8", "same_piece_twice_by_8", "developed_by_8"])
def test_a_game_that_ended_at_move_6_is_in_no_denominator_that_asks_for_move_8(habit) -> None:
    line = f"{ITALIAN} O-O Nf6 d3 d6 c3 O-O"
    assert shown(habit, line) == NOT_ASKED
    assert shown(habit, line, white=False) == NOT_ASKED
    assert shown("centre_pawn_by_5", line) == 1


def test_white_has_made_eight_moves_before_black_has() -> None:
    line = f"{ITALIAN} O-O Nf6 d3 d6 c3 O-O h3 h6 a3"
    assert shown("castled_by_8", line) == 1
    assert shown("castled_by_8", line, white=False) == NOT_ASKED


def test_the_queen_is_out_by_her_side_s_fourth_move_and_not_by_the_fifth() -> None:
    assert shown("queen_out_before_5", "e4 e5 Qh5 Nc6 Bc4 g6 Qf3 Nf6") == 1
    assert shown("queen_out_before_5", f"{ITALIAN} O-O Qe7", white=False) == 1
    assert shown("queen_out_before_5", f"{ITALIAN} O-O d6 Qe2 Qe7") == 0


def test_a_piece_moves_twice_but_a_king_a_pawn_and_a_castled_rook_do_not() -> None:
    assert shown("same_piece_twice_by_8", f"{ITALIAN} Ng5 Nh6 d3 d6 c3 a6 a3 a5 b3 b6") == 1
    line = f"{ITALIAN} O-O d6 Re1 Nf6 d3 h6 d4 h5 a3"
    assert shown("same_piece_twice_by_8", line) == 0  # the rook moved once, by itself
    walked = "e4 e5 Ke2 Ke7 Ke3 Ke6 Ke2 Ke7 Ke1 Ke8 a3 a6 a4 a5 b3 b6"
    assert shown("same_piece_twice_by_8", walked) == 0


def test_a_promoted_pawn_is_a_piece_from_then_on_but_was_never_on_a_first_square() -> None:
    line = "a4 b5 axb5 a6 bxa6 Bb7 axb7 Nc6 bxa8=Q Nb8 Qxb8 d6 Qxd8+ Kxd8 h3 h6"
    assert shown("same_piece_twice_by_8", line) == 1
    assert shown("developed_by_8", line) == 0


def test_developed_pieces_are_counted_once_each_with_the_castled_rook() -> None:
    line = f"{ITALIAN} O-O Nf6 d3 d6 Ng5 O-O Nf3 h6 Nbd2 a6"
    assert shown("developed_by_8", line) == 4  # both knights, a bishop, the rook
    assert shown("developed_by_8", line, white=False) == 4
    assert shown("developed_by_8", f"{ITALIAN} O-O Nf6 Re1 d6 Rf1 O-O c3 h6 d3 a6") == 3
    queen_side = "d4 d5 Nc3 Nf6 Bf4 e6 Qd2 Be7 O-O-O O-O h3 h6 a3 a6 b3 b6"
    assert shown("developed_by_8", queen_side) == 4


@pytest.mark.parametrize(
    ("line", "white", "expected"),
    [
        ("d3 d6 d4 e6 a3 a6 b3 b6 c3 c6", True, 1),
        ("d3 d6 d4 e6 a3 a6 b3 b6 c3 c6", False, 0),
        ("a3 d6 b3 e6 c3 d5 h3 h6 g3 g6", False, 1),
        ("c4 d5 Nf3 d4 e3 Nc6 exd4 a6 a3 b6", True, 1),  # the e-pawn, on d4 by a capture
        ("c3 e5 d4 exd4 cxd4 a6 a3 b6 b3 c6", True, 1),
        ("c3 e5 h3 d6 g3 d5 a3 a6 b3 b6", True, 0),
        ("a3 a6 b3 b6 c3 c6 h3 h6 g3 g6 e4 e5", True, 0),  # one move late
    ],
)
def test_a_centre_pawn_is_one_of_the_d_or_e_file_wherever_it_captures(
    line, white, expected
) -> None:
    assert shown("centre_pawn_by_5", line, white) == expected


def test_a_pawn_of_the_c_file_that_captures_to_d4_is_no_centre_pawn() -> None:
    line = "c3 d6 h3 d5 g3 d4 cxd4 a6 a3 b6"
    assert shown("centre_pawn_by_5", line) == 0
    assert shown("centre_pawn_by_5", line, white=False) == 1


def test_a_piece_that_is_taken_for_nothing_was_left_to_be_taken() -> None:
    line = padded("Nf3 e5 Ng5 Qxg5")
    assert shown("left_to_be_taken_by_15", line) == 1
    assert shown("left_to_be_taken_by_15", line, white=False) == 0


@pytest.mark.parametrize(
    "line",
    [
        "e4 d5 Nf3 Bg4 h3 Bxf3 Qxf3",  # the knight is protected
        "e4 e5 Nf3 Nc6 d4 exd4 Nxd4 Nxd4 Qxd4",  # knights are exchanged
        "d4 e5 dxe5 d6 exd6 Qxd6 Qxd6 Bxd6",  # queens are
        "e4 e5 Nf3 Nc6 Bb5 a6 Bxc6 dxc6",  # a bishop for a knight
        "e4 e5 a3 d6 b3 Qg5 c3 Qxg2 Bxg2",  # the queen got a pawn for herself
    ],
)
def test_a_piece_offered_and_protected_or_exchanged_is_not_left_to_be_taken(line) -> None:
    for white in (True, False):
        assert shown("left_to_be_taken_by_15", padded(line), white) == 0


def test_only_the_first_fifteen_moves_are_looked_at() -> None:
    hung = "Nf3 e5 Ng5 a6 h3 Qxg5"
    assert shown("left_to_be_taken_by_15", padded(ROUND * 6 + hung, 44)) == 1  # with h3, move 15
    assert shown("left_to_be_taken_by_15", padded(f"{ROUND * 6}b3 b6 {hung}", 44)) == 0


def test_a_record_that_stops_at_once_tells_a_loss_only_if_its_result_is_known() -> None:
    line = ROUND * 6 + "Nf3 e5 Ng5 a6 h3 Qxg5"
    assert shown("left_to_be_taken_by_15", line, known=True) == 1
    assert shown("left_to_be_taken_by_15", line, known=False) == 0


def test_who_gives_mate_has_sacrificed_the_piece() -> None:
    line = ROUND * 5 + "e4 e5 Nf3 d6 Bc4 Bg4 Nc3 g6 Nxe5 Bxd1 Bxf7+ Ke7 Nd5#"
    assert shown("left_to_be_taken_by_15", line) == 0


def test_who_is_mated_before_the_loss_can_be_counted_is_told_apart() -> None:
    line = ROUND * 5 + "a3 b6 e4 f6 Bc4 Nh6 d3 Nf7 Qh5 a6 Qxf7#"
    assert shown("left_to_be_taken_by_15", line, white=False) == MATED
    assert shown("left_to_be_taken_by_15", line) == 0


def test_a_mate_counts_as_lasting_for_mate_and_for_material_and_is_told_apart() -> None:
    fool = "f3 e5 g4 Qh4#"
    assert shown("mated_by_15", fool) == 1
    assert shown("mated_by_15", fool, white=False) == 0
    assert shown("rook_down_by_15", fool) == MATED
    assert shown("rook_down_by_15", fool, white=False) == 0
    assert shown("left_to_be_taken_by_15", fool) == NOT_ASKED


def test_a_resignation_at_move_2_is_asked_for_nothing() -> None:
    for rule in RULES:
        assert shown(rule.id, "f3 e5 g4 d6") == NOT_ASKED


def test_a_mate_at_move_15_counts_and_one_at_move_16_does_not() -> None:
    assert shown("mated_by_15", f"{ROUND * 6}a3 a6 f3 e5 g4 Qh4#") == 1
    assert shown("mated_by_15", f"{ROUND * 7}f3 e5 g4 Qh4#") == 0


def test_a_lost_queen_is_a_rook_s_worth_and_more() -> None:
    line = padded("e4 e5 Qg4 d5 a3 Bxg4")
    assert shown("rook_down_by_15", line) == 1
    assert shown("rook_down_by_15", line, white=False) == 0


def test_an_exchange_does_not_put_anybody_a_queen_down() -> None:
    line = padded("d4 e5 dxe5 d6 exd6 Qxd6 Qxd6 Bxd6")
    for white in (True, False):
        assert shown("rook_down_by_15", line, white) == 0


def test_each_rule_has_its_own_name_and_words() -> None:
    for part in ("id", "words", "definition"):
        assert len({getattr(rule, part) for rule in RULES}) == len(RULES)
