"""PGN export format, by the PGN standard (Edwards, revised 1994.03.12)."""

from __future__ import annotations

import io
import random

import chess
import chess.pgn
import pytest

from explorer.query.filters import Filters
from explorer.report.pgn import as_pgn, games_pgn
from tests.support.answers import games_answer, make_game

EXPECTED = """\
[Event "Otterbank club evening"]
[Site "Otterbank"]
[Date "2025.09.14"]
[Round "3"]
[White "?"]
[Black "?"]
[Result "1-0"]
[BlackElo "890"]
[Termination "normal"]
[TimeControl "900+10"]
[WhiteElo "1050"]

1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Qh5+ Ke7 5. Qxe5+ Kf7 6. Bc4+ Kg6 1-0

"""


def test_a_game_has_the_seven_tags_in_order_and_the_others_by_name() -> None:
    # 8.1.1 and 8.2.1
    assert games_pgn(games_answer(make_game())) == EXPECTED


def test_names_follow_the_rule_of_privacy() -> None:
    answer = games_answer(make_game(), filters=Filters(player="Ada Marsh"))
    assert '[White "A. M."]\n[Black "?"]' in games_pgn(answer)
    assert '[Black "Quill, Ben"]' in games_pgn(answer, names="full")


def test_what_is_unknown_is_a_question_mark() -> None:
    # 8.1.1.1, 8.1.1.2, 8.1.1.4
    row = make_game(event=None, site="https://example.org/x", round=None, white_rating=None)
    text = games_pgn(games_answer(row))
    assert text.startswith('[Event "?"]\n[Site "?"]')
    assert '[Round "?"]' in text
    assert "WhiteElo" not in text


def test_quotes_and_backslashes_are_escaped_and_nothing_breaks_a_line() -> None:
    # section 7
    text = games_pgn(games_answer(make_game(event='a "b" \\ c\n[Site "x"]')))
    assert text.startswith('[Event "a \\"b\\" \\\\ c [Site \\"x\\"]"]\n')


@pytest.mark.parametrize("sign", ['"', "\\", "x"])
def test_a_string_has_at_most_255_characters_and_no_half_escape(sign: str) -> None:
    # section 7
    value = games_pgn(games_answer(make_game(event="a" + sign * 400))).split("\n")[0][8:-2]
    assert 250 < len(value) <= 255
    assert (len(value) - len(value.rstrip("\\"))) % 2 == 0


def random_game(seed: int, start: str | None = None) -> tuple[list[str], list[chess.Move]]:
    choice, board = random.Random(seed), chess.Board(start or chess.STARTING_FEN)
    sans: list[str] = []
    moves: list[chess.Move] = []
    while not board.is_game_over() and len(moves) < 160:
        move = choice.choice(list(board.legal_moves))
        sans.append(board.san_and_push(move))
        moves.append(move)
    return sans, moves


@pytest.mark.parametrize("start", [None, "4k3/P6p/8/8/8/8/p6P/4K3 b - - 3 17"])
def test_python_chess_reads_the_same_moves_back_and_lines_stay_short(start: str | None) -> None:
    played = [random_game(seed, start) for seed in range(12)]
    rows = [make_game(" ".join(sans), start_fen=start, result="*") for sans, _ in played]
    text = games_pgn(games_answer(*rows))
    assert max(map(len, text.split("\n"))) <= 79  # 8.2.1: under 80
    stream = io.StringIO(text)
    for _, moves in played:
        game = chess.pgn.read_game(stream)
        assert game is not None
        assert not game.errors
        assert list(game.mainline_moves()) == moves
    assert chess.pgn.read_game(stream) is None


def test_a_game_without_moves_is_its_result_alone() -> None:
    assert games_pgn(games_answer(make_game("", result="1/2-1/2"))).endswith("\n\n1/2-1/2\n\n")


def test_no_line_begins_with_the_sign_that_hides_it() -> None:
    """PGN standard, section 6: a line that begins with % is passed over."""
    for shift in range(80):
        text = as_pgn({"Event": "?"}, f"1. e4 {{ {'a ' * shift}53 % of games }} *")
        assert not any(line.startswith("%") for line in text.splitlines())
        assert "53 % of" in " ".join(text.split())
