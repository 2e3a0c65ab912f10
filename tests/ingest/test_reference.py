"""The reference reader: what it reads, and the reason it gives where it cannot."""

from __future__ import annotations

import io
import random

import chess
import chess.pgn
import pytest

from ingest.reference import read_game
from tests.support.game_texts import STARTS, play, write

TAGS = '[Event "Invented Cup"]\n[White "Ada Example"]\n\n'
PROMOTING = '[FEN "8/P3k3/8/8/8/8/8/4K3 w - - 0 1"]\n\n'


def line(text: str) -> str:
    """The mainline that is read, in coordinates."""
    return " ".join(move.uci() for move in read_game(text).board.move_stack)


@pytest.mark.parametrize(
    "movetext",
    [
        "1. e4 e5 2. Nf3 1-0",
        "1.e4 e5 2.Nf3 1-0",
        "e4 e5 Nf3",
        "1e4 e5 2Nf3 1-0",
        "7. e4 3... e5 . Nf3 1-0",
        "1. e4! $1 e5?? 2. Nf3!? $200 1-0",
        "1. e4 {a; (b} e5 (1... c5 (1... e6 {)}) 2. d4) 2. Nf3 1-0",
        "1. e4 ; c5 { (\n e5\n% d4\n2. Nf3 1-0",
        "1. e4 e5\n\n2. Nf3 1-0",
        "1.e4{c}e5(1...c5)2.Nf3$1 1-0",
        "<b>1. e4</b> e5<br>2. \\$1 Nf3\\$16 1-0",
        "1. e4+ e5# 2. Nf3++ 1-0",
        "1. e4 +- e5 = 2. Nf3 N 1-0",
        "1. e4 ) e5 } 2. ] Nf3 1-0",
        "1. e4 [Event \"x\"] e5 2. [ Nf3 1-0",
        "1. e2e4 e7-e5 2. Ng1-f3 1-0",
        "1. Pe4 e5 2. g1f3 1-0",
        "1.\te4\r\ne5\u00a02. Nf3 1-0",
    ],
)  # fmt: skip
def test_ways_to_write_one_game(movetext: str) -> None:
    """PGN import format (standard, 3.1, 5, 6, 8.2) and common slips all read as one game."""
    reading = read_game(TAGS + movetext)
    assert reading.reason is None
    assert line(TAGS + movetext) == "e2e4 e7e5 g1f3"


@pytest.mark.parametrize(
    ("text", "last"),
    [
        ("1. e4 d5 2. exd5", "e4d5"),
        ("1. e4 d5 2. ed5", "e4d5"),
        ("1. e4 d5 2. e4d5", "e4d5"),
        ("1. e4 d5 2. xd5", "e4d5"),
        ("1. e4 d5 2. 4xd5", "e4d5"),
        ("1. e4 a6 2. e5 d5 3. exd6 e.p.", "e5d6"),
        ("1. e4 a6 2. e5 d5 3. exd6e.p. *", "e5d6"),
        ("1. e4 a6 2. e5 d5 3. exd6 ep", "e5d6"),
        ("1. e4 a6 2. e5 d5 3. exd6ep!", "e5d6"),
        (PROMOTING + "1. a8=N", "a7a8n"),
        (PROMOTING + "1. a8Q", "a7a8q"),
        (PROMOTING + "1. a8(R)", "a7a8r"),
        ("1. e4 e5 2. ♘f3", "g1f3"),
        ("1. ♙e4 ♞c6", "b8c6"),
        (PROMOTING + "1. a8/B", "a7a8b"),
        (PROMOTING + "1. a7a8q", "a7a8q"),
        ("1. Nf3 a6 2. g3 b6 3. Bg2 c6 4. 0-0", "e1g1"),
        ("1. Nf3 a6 2. g3 b6 3. Bg2 c6 4.o-o!", "e1g1"),
        ("1. Nf3 a6 2. g3 b6 3. Bg2 c6 4. e1g1", "e1g1"),
    ],
)
def test_ways_to_write_a_move(text: str, last: str) -> None:
    """Captures, promotions, castling and en passant are read as people write them."""
    assert read_game(text).reason is None
    assert line(text).split()[-1] == last


@pytest.mark.parametrize(
    ("written", "token"),
    [("1-0", "1-0"), ("0-1", "0-1"), ("0–1", "0-1"), ("*", "*"), ("1/2-1/2", "1/2-1/2")]
    + [("1-O", "1-0"), ("O-1", "0-1")]
    + [(half, "1/2-1/2") for half in ("½-½", "1/2", "½")],
)
def test_results(written: str, token: str) -> None:
    """The four results of the standard (8.2.6), and as people write them; nothing after them is
    read."""
    reading = read_game(f"1. e4 {written} e5")
    assert (reading.token, len(reading.board.move_stack)) == (token, 1)


@pytest.mark.parametrize(
    ("text", "reason", "kept"),
    [
        ("1. e4 e5 2. Nf3 Nxe4 3. d3", "illegal move 2...Nxe4", 3),
        ("1. e4 e5 2. hello Nc6", "unreadable move 2.hello", 2),
        ("1. e4 e5 2. Sf3 Nc6", "unreadable move 2.Sf3", 2),
        ("1. d4 d5 2. Nf3 a6 3. Nd2", "ambiguous move 3.Nd2", 4),
        ("1. e4 < 2. d4", "unreadable move 1...<", 1),
        ("1. e4 -- 2. d4", "null move 1...--", 1),
        ("1. e4 Z0 2. d4", "null move 1...Z0", 1),
        ("1. e4 e5\0 2. d4", "unreadable move 1...e5?", 1),
        ("1. e4 " + "x" * 1000, "unreadable move 1..." + "x" * 20, 1),
        ("1. f3 e5 2. g4 Qh4# 3. a3", "illegal move 3.a3", 4),
        ("1. e4 1-0x", "unreadable move 1...1-0x", 1),
        ("1. e4 e5 2. Nf3 {he left", "a comment after 2.Nf3 is never closed", 3),
        ("1. e4 e5 (1... c5 2. Nf3", "a variation after 1...e5 is never closed", 2),
    ],
)
def test_reasons_to_cut(text: str, reason: str, kept: int) -> None:
    """The moves before the trouble are kept, and one sentence names the move."""
    reading = read_game(TAGS + text)
    assert reading.usable
    assert (reading.reason, len(reading.board.move_stack)) == (reason, kept)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("1. e5 e4", "illegal move 1.e5"),
        ("{never closed", "a comment before the first move is never closed"),
        ("(1. e4", "a variation before the first move is never closed"),
        ("{only words}", "no tags, no moves and no result"),
        ("", "no tags, no moves and no result"),
        ("[Event", "unreadable move 1.Event"),
        ('[Variant "Atomic"]\n\n1. e4 e5', "played by the rules of Atomic, not of standard chess"),
        ('[variant "Atomic"]\n\n*', "played by the rules of Atomic, not of standard chess"),
        ('[FEN "8/8 w"]\n\n1. e4', "the FEN tag cannot be read: '8/8 w'"),
        (f'[FEN "8/8{chr(12) * 99}w"]\n\n1. e4', f"the FEN tag cannot be read: '8/8{'?' * 77}'"),
        (
            '[FEN "8/8/8/8/8/8/8/K7 w - - 0 1"]\n\n1. Kb1',
            "the FEN tag gives an impossible position: no black king",
        ),
    ],
)
def test_reasons_to_reject(text: str, reason: str) -> None:
    """With nothing usable before it, the trouble rejects the game."""
    reading = read_game(text)
    assert not reading.usable
    assert reading.reason == reason


@pytest.mark.parametrize("text", ['[Event "Invented Cup"]\n', "1-0", "*", TAGS])
def test_games_without_moves(text: str) -> None:
    """Tags or a result make a game, even one without moves."""
    reading = read_game(text)
    assert (reading.usable, reading.reason, reading.board.move_stack) == (True, None, [])


@pytest.mark.parametrize(
    ("text", "headers"),
    [
        ('[Event "a"] [Site "b"]\n', {"Event": "a", "Site": "b"}),
        ('[Event "a"]\n{c}\n[Site "b"]\n', {"Event": "a", "Site": "b"}),
        ('\ufeff[Event\n"a"]\n\n[ Site"b" ]\n', {"Event": "a", "Site": "b"}),
        ('[Event "a]b[c;d{e"]\n', {"Event": "a]b[c;d{e"}),
        ('[Event "a \\"b\\" \\\\"]\n', {"Event": 'a \\"b\\" \\\\'}),
        ('[Event "He said "hi" to all"]\n', {"Event": 'He said "hi" to all'}),
        ('[Event "a\n[Site "b"\n[Round "1]\n', {"Event": "a", "Site": "b", "Round": "1"}),
        ('[Event "a"]\n[Event "b"]\n', {"Event": "b"}),
        ('[fen ""]\n[Setup "0"]\n', {"FEN": "", "SetUp": "0"}),
        ('[Event "a"]\n1. e4 [Site "b"] e5', {"Event": "a"}),
    ],
)  # fmt: skip
def test_tags(text: str, headers: dict[str, str]) -> None:
    """Tags are read in import format (standard, 7 and 8.1.1); values keep their escapes."""
    assert read_game(text).headers == headers


def test_first_position() -> None:
    """A FEN's first position is kept in its legal en passant form; the normal one is None."""
    fen = "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq {} 0 1"
    reading = read_game(f'[FEN "{fen.format("e3")}"]\n\n1... e5 *')
    assert reading.start_fen == fen.format("-")
    assert line(f'[FEN "{fen.format("e3")}"]\n\n1... e5 *') == "e7e5"
    assert read_game(f'[FEN "{chess.STARTING_FEN}"]\n\n1. e4 *').start_fen is None


def test_agrees_with_python_chess() -> None:
    """On random games the mainline and result are those of python-chess' own PGN reader, which
    a blank line among the moves would stop."""
    rng = random.Random(31)
    for _ in range(60):
        text = write(rng, play(rng, rng.randrange(50), rng.choice([None, *STARTS])), plain=True)
        tags, _, moves = text.partition("\n\n")
        game = chess.pgn.read_game(io.StringIO(tags + "\n\n" + moves.replace("\n\n", "\n")))
        assert game is not None
        reading = read_game(text)
        assert reading.board.move_stack == list(game.mainline_moves())
        assert reading.board.fen() == game.end().board().fen()
        assert reading.headers["Result"] == game.headers["Result"] == reading.token


@pytest.mark.parametrize(
    "piece", ["{", "(", "[", "<", "[a ", '"', "\\", '[Event "' + " " * 50, "1. "]
)
def test_long_nonsense_is_read_in_no_time(piece: str) -> None:
    """A long run of one odd piece ends in a verdict, without steps that grow with its square."""
    reading = read_game(piece * (200_000 // len(piece)))
    assert reading.board.move_stack == []
