"""The FEN examples of the PGN standard, section 16.1, and the published keys."""

import pytest

from explorer.positions.typed import parse_position

# PGN standard 16.1.4: the start, then after 1. e4, 1... c5, 2. Nf3, and an endgame.
EXAMPLES = [
    ("", "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1"),
    ("e4", "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq e3 0 1"),
    ("e4 c5", "rnbqkbnr/pp1ppppp/8/2p5/4P3/8/PPPP1PPP/RNBQKBNR w KQkq c6 0 2"),
    ("e4 c5 Nf3", "rnbqkbnr/pp1ppppp/8/2p5/4P3/5N2/PPPP1PPP/RNBQKB1R b KQkq - 1 2"),
]

# Polyglot book format page: moves and key.
KEYS = [
    ("", 0x463B96181691FC9C),
    ("e2e4 d7d5 e4e5 f7f5", 0x22A48B5A8E47FF78),
    ("e2e4 d7d5 e4e5 f7f5 e1e2 e8f7", 0x00FDD303C946BDD9),
    ("a2a4 b7b5 h2h4 b5b4 c2c4 b4c3 a1a3", 0x5C3F9B829B279560),
]


@pytest.mark.parametrize(("line", "fen"), EXAMPLES)
def test_the_moves_of_the_standard_give_its_fen(line, fen):
    assert parse_position(line).board().fen(en_passant="fen") == fen


@pytest.mark.parametrize(("line", "fen"), EXAMPLES)
def test_the_fen_of_the_standard_is_the_position_of_its_moves(line, fen):
    assert parse_position(fen).key == parse_position(line).key
    assert parse_position(fen).fen == parse_position(line).fen
    assert parse_position(fen).start == fen


def test_an_endgame_of_the_standard_keeps_its_counters():
    fen = "4k3/8/8/8/8/8/4P3/4K3 w - - 5 39"
    assert parse_position(fen).board().fen() == fen


@pytest.mark.parametrize(("line", "key"), KEYS)
def test_typed_moves_lead_to_the_published_keys(line, key):
    assert parse_position(line).key == key
