import chess
import pytest

from explorer.positions.typed import parse_position
from ingest.errors import InputError

GAME = '[Event "Club evening"]\n[White "Ash, Tom"]\n\n'


@pytest.fixture
def pgn(tmp_path):
    def write(content, name="game.pgn"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return str(path)

    return write


@pytest.mark.parametrize("name", ["game.pgn", "GAME.PGN", "a game.pgn", "game.txt"])
def test_a_file_stands_for_the_mainline_of_its_first_game(pgn, name):
    text = (
        GAME + "1. e4 {good} e5 (1... c5 2. xx) 2. Nf3! Nc6 1-0\n\n" + GAME + "1. c4 (1. d4) c5 *\n"
    )
    path = pgn(text, name)
    assert parse_position(path).numbered == "1. e4 e5 2. Nf3 Nc6"
    assert parse_position(path.split(" ")).numbered == "1. e4 e5 2. Nf3 Nc6"


@pytest.mark.parametrize(
    "content",
    [
        b"\xef\xbb\xbf" + GAME.encode() + b"1. e4 {caf\xc3\xa9} e5 *",
        GAME.encode() + b"1. e4 {caf\xe9} e5 *",
        b"\xef\xbb\xbf" + GAME.encode() + b"1. e4 {caf\xe9} e5 *",
        GAME.replace("\n", "\r\n").encode() + b"1. e4\r\ne5 *",
        b"1. e4 e5",
    ],
)
def test_a_file_may_be_in_utf_8_or_latin_1(pgn, content):
    assert parse_position(pgn(content)).numbered == "1. e4 e5"


def test_a_game_without_moves_stands_for_its_start(pgn):
    assert parse_position(pgn(GAME + "*\n")).board() == chess.Board()


def test_a_game_with_its_own_fen_starts_there(pgn):
    fen = "4k3/8/8/8/8/8/4P3/4K3 w - - 5 39"
    position = parse_position(pgn(f'[SetUp "1"]\n[FEN "{fen}"]\n\n39. e4 Kd7 *\n'))
    assert position.start == fen
    assert position.numbered == "39. e4 Kd7"


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", "no game in it; give a PGN file, or type the moves"),
        ("hello\n", "no game in it; give a PGN file, or type the moves"),
        (
            GAME + "1. e4 e5 2. Nf3 Nc6 3. Nc6 a6 4. Ke7 *\n",
            "illegal move in its first game at move 3, White (Nc6); correct it, or type the moves",
        ),
        (
            GAME + "1. e4 Bc5 *\n",
            "illegal move in its first game at move 1, Black (Bc5); correct it, or type the moves",
        ),
        (
            '[FEN "8/8 w"]\n\n1. e4 *\n',
            "its first game has a FEN tag that cannot be read; "
            "give another file, or type the moves",
        ),
        (
            '[FEN "4k3/8/8/8/8/8/4P3/8 w - - 0 1"]\n\n1. e4 *\n',
            "its first game has an impossible FEN tag (White has no king); "
            "give another file, or type the moves",
        ),
        (
            '[Variant "Atomic"]\n\n1. e4 *\n',
            "its first game is Atomic, not chess by the usual rules; "
            "give another file, or type the moves",
        ),
        (
            '[Variant "Chess960"]\n\n1. e4 *\n',
            "its first game is Chess960, not chess by the usual rules; "
            "give another file, or type the moves",
        ),
        (
            '[Variant "Garden rules"]\n\n1. e4 *\n',
            "its first game is Garden rules, not chess by the usual rules; "
            "give another file, or type the moves",
        ),
    ],
)
def test_a_file_that_cannot_be_used_says_why(pgn, content, message):
    path = pgn(content)
    with pytest.raises(InputError) as refusal:
        parse_position(path)
    assert str(refusal.value) == f"{path}: {message}"


def test_a_missing_file_says_so():
    with pytest.raises(InputError) as refusal:
        parse_position("nowhere.pgn")
    assert str(refusal.value) == "nowhere.pgn: no such file; check its name and folder"


def test_a_folder_named_like_a_file_cannot_be_read(tmp_path):
    (tmp_path / "folder.pgn").mkdir()
    with pytest.raises(InputError, match=r"folder\.pgn: cannot be read \(.+\); check it$"):
        parse_position(str(tmp_path / "folder.pgn"))
