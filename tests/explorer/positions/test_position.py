import chess
import pytest

from explorer.positions.position import Position, fen_of, numbered, position_of
from explorer.positions.typed import parse_position
from ingest.poskey import key_of


def test_two_move_orders_differ_in_their_line_only():
    # 4.O-O Nf6 5.d3 and 4.d3 Nf6 5.O-O: common practice, no source.
    one = parse_position("e4 e5 Nf3 Nc6 Bc4 Bc5 O-O Nf6 d3")
    two = parse_position("e4 e5 Nf3 Nc6 Bc4 Bc5 d3 Nf6 O-O")
    assert one.numbered != two.numbered
    assert (one.fen, one.key, one.name, one.to_move) == (two.fen, two.key, two.name, two.to_move)


def test_two_en_passant_histories_of_one_position_have_one_fen_and_key():
    # FIDE Laws 9.2.3: the f5 pawn is pinned, so 4.fxg6 was never possible.
    one = parse_position("f4 e6 Kf2 Qf6 f5 g5")
    two = parse_position("f4 g5 Kf2 e6 f5 Qf6")
    assert (one.fen, one.key) == (two.fen, two.key)


def test_a_position_knows_its_board_with_all_moves_on_the_stack():
    position = parse_position("e4 c5 Nf3")
    board = position.board()
    assert [move.uci() for move in board.move_stack] == ["e2e4", "c7c5", "g1f3"]
    assert key_of(board) == position.key
    assert position_of(board) == position


def test_each_board_is_a_fresh_one():
    position = parse_position("e4")
    position.board().push_uci("e7e5")
    assert position.board().fullmove_number == 1


def test_after_a_move_the_line_is_one_move_longer():
    position = parse_position("e4 e5")
    assert position.after("g1f3") == parse_position("e4 e5 Nf3")
    assert position.after(chess.Move.from_uci("g1f3")) == parse_position("e4 e5 Nf3")


@pytest.mark.parametrize("move", ["e2e4", chess.Move.from_uci("e2e4")])
def test_after_an_illegal_move_there_is_no_position(move):
    with pytest.raises(ValueError, match="e2e4"):
        parse_position("e4 e5").after(move)


@pytest.mark.parametrize(
    ("sans", "start", "text"),
    [
        ([], None, ""),
        (["e4", "e5", "Nf3"], None, "1. e4 e5 2. Nf3"),
        (["Kd7", "e4"], "4k3/8/8/8/8/8/4P3/4K3 b - - 5 39", "39... Kd7 40. e4"),
        (["e4", "Kd7"], "4k3/8/8/8/8/8/4P3/4K3 w - -", "1. e4 Kd7"),
    ],
)
def test_moves_are_numbered_from_where_the_line_starts(sans, start, text):
    assert numbered(sans, start) == text


def test_a_position_given_by_fen_has_no_line_and_keeps_its_counters_for_numbering():
    position = parse_position("4k3/8/8/8/8/8/4P3/4K3 b - - 5 39")
    assert position.numbered == ""
    assert not position.from_normal_start
    assert position.fen == "4k3/8/8/8/8/8/4P3/4K3 b - - 0 1"
    assert position.after("e8d7").numbered == "39... Kd7"


def test_the_side_to_move_is_a_word():
    assert parse_position("").to_move == "white"
    assert parse_position("e4").to_move == "black"
    assert parse_position("").from_normal_start


def test_name_is_of_the_very_position_and_opening_of_the_line():
    position = parse_position("e4 e5 Nf3 f6 Nxe5 fxe5")
    assert position.name is None
    assert position.opening == "Damiano Defence, Knight Sacrifice"
    assert parse_position("").opening is None


def test_positions_are_values():
    position = Position(fen_of(chess.Board()), key_of(chess.Board()))
    assert position == parse_position("")
    assert hash(position) == hash(parse_position([]))
