"""Every refusal of a typed position, word for word."""

import pytest

from explorer.positions.typed import parse_position
from ingest.errors import PositionError, UsageError

KINGS = "; ".join(
    [
        "King's Pawn Opening",
        "King's Fianchetto Opening",
        "King's Knight Opening",
        "King's Gambit",
        "King's Indian Attack",
        "King's Gambit Accepted",
    ]
)
EXAMPLE = 'write for example "e4 e5 Nf3" or "Italian Game"'

CASES = {
    "e4 e5 Nf4": "move 2, White: Nf4 is not legal; did you mean Nf3 or f4?",
    "1. e4 e5 2. Nf3 Nf4": "move 2, Black: Nf4 is not legal; did you mean Nf6?",
    "e4 e5 Nf3 Nc6 Nf6": (
        "move 3, White: Nf6 is not legal, and no legal move looks like it; "
        "check the moves before it"
    ),
    "e4 e5 bc4": "move 2, White: bc4 is not legal; did you mean b4, c4 or Bc4?",
    "e4 c5 e2e5": "move 2, White: e2e5 is not legal; did you mean e4e5?",
    "e4 a6 e5 a5 e6 a4 exf7+ Ke7": "move 4, Black: Ke7 is not legal; did you mean Kxf7?",
    "e4 d5 e5 d4 e6 d3 exf7+ Kd7 fxg8": (
        "move 5, White: fxg8 is not legal; did you mean fxg8=R, fxg8=Q, fxg8=N or fxg8=B?"
    ),
    "Nf3 d5 d4 Nf6 Nd2": "move 3, White: Nd2 can be Nbd2 or Nfd2; write one of them",
    "e4 e5 Bird": ("move 2, White: 'Bird' is not a move; write moves as in 1. e4 e5 2. Nf3"),
    "1. x": "move 1, White: 'x' is not a move; write moves as in 1. e4 e5 2. Nf3",
    "e4 Xf5": "move 1, Black: Xf5 is not legal; did you mean f5?",
    "f3 e5 g4 Qh4# a3": (
        "move 3, White: a3 cannot be played, the game is over by checkmate; leave it out"
    ),
    "7k/5Q2/6K1/8/8/8/8/8 b - - Kg8": (
        "move 1, Black: Kg8 cannot be played, the game is over by stalemate; leave it out"
    ),
    "e4 {an open comment": "a comment in { } is not closed; add the missing brace",
    "kings": f"kings: 23 openings fit: {KINGS}; and 17 more; write more of the name",
    "Legal": "Legal: 2 openings fit: Legal's Trap; Legal's Mate; write more of the name",
    "Cicilian": "Cicilian: no opening has that name; did you mean Sicilian Defence?",
    "blah blah": (
        f"blah blah: neither moves, nor a FEN, nor a .pgn file, nor an opening's name; {EXAMPLE}"
    ),
    "?!": f"?!: neither moves, nor a FEN, nor a .pgn file, nor an opening's name; {EXAMPLE}",
}


@pytest.mark.parametrize("typed", list(CASES))
def test_a_refusal_says_what_is_wrong_and_what_to_do(typed):
    with pytest.raises(PositionError) as refusal:
        parse_position(typed)
    assert str(refusal.value) == CASES[typed]


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("e4 e5 Sf4", "move 2, White: Sf4 is not legal; did you mean Sf3 or f4?"),
        ("Sf3 d5 d4 Sf6 Sd2", "move 3, White: Sd2 can be Sbd2 or Sfd2; write one of them"),
    ],
)
def test_a_refusal_uses_the_letters_that_were_named(typed, message):
    with pytest.raises(PositionError) as refusal:
        parse_position(typed, "German")
    assert str(refusal.value) == message


TAIL = "; correct it, or type the moves instead"
START = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR"

FENS = {
    f"{START} w KQkq": "it has 3 fields where a FEN has 4 or 6",
    START: "it has 1 field where a FEN has 4 or 6",
    f"{START} w KQkq - 0": "it has 5 fields where a FEN has 4 or 6",
    "rnbqkbnr/pppppppp/8/8/8/PPPPPPPP/RNBQKBNR w KQkq -": "it has 7 ranks instead of 8",
    "rnbqkbnr/pppppppp/8/8/4P4/8/PPPP1PPP/RNBQKBNR w KQkq -": "rank 4 has 9 squares instead of 8",
    "rnbqkbnr/ppppxppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq -": (
        "rank 7 holds 'x', which is no piece and no number"
    ),
    f"{START} white KQkq -": "the side to move is 'white' where w or b is needed",
    f"{START} w HAha -": "castling is 'HAha' where letters of KQkq or - is needed",
    f"{START} w KQkq e4": (
        "the en passant square is 'e4' where a square of rank 3 or 6, or - is needed"
    ),
    "8/8/8/8/8/8/8/8 w - -": "White has no king",
    "4K3/8/8/8/8/8/8/8 w - -": "Black has no king",
    "4k3/8/8/8/8/8/8/3KK3 w - -": "a side has more than one king",
    "4k3/8/8/8/8/P7/PPPPPPPP/4K3 w - -": "White has more than eight pawns",
    "4k3/pppppppp/p7/8/8/8/8/4K3 w - -": "Black has more than eight pawns",
    "4k2P/8/8/8/8/8/8/4K3 w - -": "a pawn stands on the first or the last rank",
    "4k3/8/8/8/8/NNNNNNNN/NNNNNNNN/4K3 w - -": "White has more than sixteen men",
    "4k3/nnnnnnnn/nnnnnnnn/8/8/8/8/4K3 w - -": "Black has more than sixteen men",
    "4k3/8/8/8/8/8/8/4K3 w K -": "castling is allowed without king and rook at home",
    f"{START} w KQkq e6": "no pawn can have just passed the en passant square",
    "4k3/8/8/8/8/8/8/4RK2 w - -": "the side that is not to move is in check",
    "4k3/8/3N1N2/8/8/8/8/4RK2 b - -": "the king is in check from more than two men",
    f"{START} w KQkq - 99999 1": "the halfmove counter is '99999' where a number is needed",
    f"{START} w KQkq - 0 99999": "the move number is '99999' where a number is needed",
}


@pytest.mark.parametrize("typed", list(FENS))
def test_a_bad_fen_is_refused_with_the_reason_in_words(typed):
    with pytest.raises(PositionError) as refusal:
        parse_position(typed)
    assert str(refusal.value) == f"FEN {typed}: {FENS[typed]}{TAIL}"


def test_an_unknown_language_lists_the_known_ones():
    with pytest.raises(UsageError) as refusal:
        parse_position("e4", "xx")
    assert str(refusal.value) == (
        "--letters xx: no such language; choose one of "
        "cs, da, nl, en, et, fi, fr, de, hu, is, it, no, pl, pt, ro, es, sv"
    )
