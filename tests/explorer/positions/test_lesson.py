"""A lesson is merged by position and followed along what the student is taught."""

from __future__ import annotations

from pathlib import Path

import chess
import pytest

from explorer.positions.lesson import Lesson, read_lesson
from explorer.positions.typed import parse_position
from ingest.errors import InputError
from ingest.poskey import key_of

SAMPLE = Path(__file__).parents[3] / "sample_games" / "lesson_italian.pgn"


def lesson(tmp_path: Path, text: str, side: str = "white") -> Lesson:
    file = tmp_path / "lesson.pgn"
    file.write_text(text, "utf-8")
    return read_lesson(str(file), side)


def key(line: str) -> int:
    return parse_position(line.split()).key


def refusal(tmp_path: Path, text: str, side: str = "white") -> str:
    with pytest.raises(InputError) as caught:
        lesson(tmp_path, text, side)
    assert "\n" not in str(caught.value)
    return str(caught.value).removeprefix(str(tmp_path / "lesson.pgn"))


def test_the_first_move_is_taught_and_the_others_are_alternatives(tmp_path: Path) -> None:
    found = lesson(tmp_path, "1. e4 (1. d4 d5 2. c4) (1. c4) e5 (1... c5) 2. Nf3 *")
    start = found.places[key_of(chess.Board())]
    assert start.taught
    assert start.taught.san == "e4"
    assert [move.san for move in start.alternatives] == ["d4", "c4"]
    assert found.not_followed == ("1. d4", "1. c4")
    assert key("d4") not in found.places


def test_every_move_of_the_opponent_is_an_answered_reply(tmp_path: Path) -> None:
    found = lesson(tmp_path, "1. e4 e5 (1... c5 $4) (1... d5) 2. Nf3 *")
    assert [move.san for move in found.places[key("e4")].replies] == ["e5", "c5", "d5"]
    assert found.places[key("e4 c5")].taught is None


@pytest.mark.parametrize("mark", ["?", "??", "?!", " $2", " $4", " $6"])
def test_a_move_marked_as_a_mistake_is_a_warning_and_never_taught(
    tmp_path: Path, mark: str
) -> None:
    found = lesson(tmp_path, f"1. g4{mark} (1. e4 e5) d5 *")
    start = found.places[key_of(chess.Board())]
    assert start.taught
    assert start.taught.san == "e4"
    assert [move.san for move in start.warnings] == ["g4"]
    assert key("g4") not in found.places
    assert not start.alternatives


def test_a_mark_of_interest_is_no_warning(tmp_path: Path) -> None:
    found = lesson(tmp_path, "1. g4!? d5 *")
    assert found.taught[0].taught
    assert found.taught[0].taught.san == "g4"


def test_lines_that_reach_one_position_are_one_place(tmp_path: Path) -> None:
    text = "1. d4 Nf6 (1... d5 2. c4 e6 3. Nc3 Nf6 4. Bg5) 2. c4 e6 3. Nc3 d5 *"
    found = lesson(tmp_path, text)
    place = found.places[key("d4 Nf6 c4 e6 Nc3 d5")]
    assert place.taught
    assert place.taught.san == "Bg5"
    assert not found.two_taught


def test_two_taught_moves_for_one_position_warn_and_the_first_wins(tmp_path: Path) -> None:
    text = "1. d4 Nf6 (1... d5 2. c4 e6 3. Nc3 Nf6 4. Bg5 Be7) 2. c4 e6 3. Nc3 d5 4. cxd5 exd5 *"
    found = lesson(tmp_path, text)
    (two,) = found.two_taught
    assert (two.taught, two.other) == ("cxd5", "Bg5")
    assert two.line == "1. d4 Nf6 2. c4 e6 3. Nc3 d5"
    assert two.other_line == "1. d4 d5 2. c4 e6 3. Nc3 Nf6"
    assert key("d4 Nf6 c4 e6 Nc3 d5 Bg5") not in found.places


def test_an_alternative_is_named_once_and_a_taught_move_is_none(tmp_path: Path) -> None:
    games = "1. e4 (1. c4) e5 2. Nf3 *", "1. d4 (1. e4 c5 2. c3) d5 *", "1. e4 (1. c4) c6 2. d4 *"
    found = lesson(tmp_path, "\n".join(f'[Event "?"]\n\n{game}\n' for game in games))
    start = found.places[key_of(chess.Board())]
    assert [move.san for move in start.alternatives] == ["c4"]
    assert found.not_followed == ("1. c4",)
    assert [(two.taught, two.other) for two in found.two_taught] == [("e4", "d4")]
    assert [move.san for move in found.places[key("e4")].replies] == ["e5", "c5", "c6"]


def test_several_games_are_one_lesson(tmp_path: Path) -> None:
    found = lesson(tmp_path, '[Event "a"]\n\n1. e4 e5 *\n\n[Event "b"]\n\n1. e4 c5 2. c3 *\n')
    assert [move.san for move in found.places[key("e4")].replies] == ["e5", "c5"]
    assert found.title == "a"


def test_a_game_from_a_position_of_its_own_joins_when_a_line_leads_there(tmp_path: Path) -> None:
    fen = "rnbqkbnr/pppp1ppp/8/4p3/4P3/8/PPPP1PPP/RNBQKBNR w KQkq - 0 2"
    own = f'[Event "own"]\n[SetUp "1"]\n[FEN "{fen}"]\n\n2. Bc4 *\n\n'
    alone = '[Event "alone"]\n[SetUp "1"]\n[FEN "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"]\n\n1. e4 *\n\n'
    found = lesson(tmp_path, own + alone + '[Event "main"]\n\n1. e4 e5 *\n')
    place = found.places[key("e4 e5")]
    assert place.taught
    assert place.taught.san == "Bc4"
    assert found.not_reached == ("game 2: alone",)


def test_comments_stay_with_their_moves(tmp_path: Path) -> None:
    found = lesson(tmp_path, "1. e4 { takes the centre } e5 { so does this } *")
    assert found.taught[0].taught
    assert found.taught[0].taught.comment == "takes the centre"
    assert found.places[key("e4")].replies[0].comment == "so does this"


def test_an_illegal_move_in_a_variation_is_named_with_line_and_move(tmp_path: Path) -> None:
    text = "1. e4 e5 2. Nf3 (2. Bc4 Nc6\n3. Qh7 g6) Nc6 *"
    said = refusal(tmp_path, text)
    assert said == (", line 2: 3. Qh7 is not a legal move after 1. e4 e5 2. Bc4 Nc6; correct it")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", ": no move in it; give a lesson as PGN with variations"),
        ('[Event "a"]\n\n*\n', ": no move in it; give a lesson as PGN with variations"),
        ("hello world", ", line 1: 'hello' is no move; "),
        ("1. e4 e5\n2. Sf3 *", ", line 2: 'Sf3' is no move; "),
        ("1. e4 -- 2. d4 *", ", line 1: '--' is no move; "),
        ("1. e4 { open", ", line 1: a comment in { } is not closed"),
        ('[Variant "Atomic"]\n\n1. e4 *', ": game 1 is Atomic, not chess by the usual rules"),
        ('[SetUp "1"]\n[FEN "8/8/8/8/8/8/8/K7 w - - 0 1"]\n\n1. Ka2 *', ": game 1 has an impos"),
        ("1. e4 \0", ": not a PGN file"),
    ],
)
def test_what_is_no_lesson_is_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    assert refusal(tmp_path, text).startswith(said)


def test_a_lesson_without_a_move_for_the_side_is_refused(tmp_path: Path) -> None:
    assert refusal(tmp_path, "1. e4 *", "black").startswith(": it teaches Black no move; ")


def test_a_file_far_too_large_for_a_lesson_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("explorer.positions.lesson_file.MOST_BYTES", 20)
    assert "too large for a lesson" in refusal(tmp_path, "1. e4 e5 2. Nf3 Nc6 *")
    monkeypatch.undo()
    monkeypatch.setattr("explorer.positions.lesson_file.MOST_GAMES", 1)
    assert "more than 1 games" in refusal(tmp_path, "1. e4 *\n\n1. d4 *\n\n1. c4 *\n")


def test_a_lesson_for_the_other_side_is_noticed(tmp_path: Path) -> None:
    for_black = "1. e4 (1. d4 d5) (1. c4 e5) e5 2. Nf3 (2. Bc4 Nf6) Nc6 *"
    assert lesson(tmp_path, for_black).looks_like_the_other_side
    assert not lesson(tmp_path, for_black, "black").looks_like_the_other_side


def test_the_sample_lesson_is_read_whole() -> None:
    found = read_lesson(str(SAMPLE), "white")
    assert len(found.taught) > 40
    assert not found.two_taught
    assert not found.not_reached
    assert all(not place.students_turn or not place.replies for place in found.places.values())


def test_a_quote_in_the_title_is_read_as_one(tmp_path: Path) -> None:
    """PGN standard, section 7: a quote within a tag's value is escaped."""
    assert lesson(tmp_path, '[Event "A \\"quiet\\" line"]\n\n1. e4 *').title == 'A "quiet" line'


def test_a_quote_in_a_tag_is_read_as_meant(tmp_path: Path) -> None:
    """PGN standard, section 7: a backslash stands before a quote or a backslash."""
    text = '[Event "The \\"quiet\\" one \\\\ two"]\n\n1. e4 *'
    assert lesson(tmp_path, text).title == 'The "quiet" one \\ two'
