"""Facts of well-known lines.

Where a line is not of the rules alone it is common practice, no source; the
Damiano lines are in Wikibooks, "Damiano Defence".
"""

import pytest

from explorer.positions.facts import (
    SquareFacts,
    attacked_by,
    attackers,
    balance,
    guards,
    line_facts,
)
from explorer.positions.typed import parse_position
from ingest.errors import UsageError

DAMIANO = "e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+"
LEGAL = "e4 e5 Nf3 d6 Bc4 Bg4 Nc3 g6 Nxe5 Bxd1 Bxf7+ Ke7 Nd5#"
LEGAL_NC6 = "e4 e5 Nf3 Nc6 Bc4 d6 Nc3 Bg4 Nxe5 Bxd1 Bxf7+ Ke7 Nd5#"
PETROV = "e4 e5 Nf3 Nf6 Nxe5 Nxe4 Qe2 Nf6 Nc6+"
ELEPHANT = "d4 d5 c4 e6 Nc3 Nf6 Bg5 Nbd7 cxd5 exd5 Nxd5 Nxd5 Bxd8 Bb4+"
ENGLUND = "d4 e5 dxe5 Nc6 Nf3 Qe7 Bf4 Qb4+ Bd2 Qxb2 Bc3 Bb4 Qd2 Bxc3 Qxc3 Qc1#"

# A line, how many of its last plies are counted, and for each of those the
# number of legal replies and the balance. All verified with python-chess.
PLIES = [
    (
        DAMIANO,
        "20 29 29 27 25 27 2",
        "0 0 0 0 1 -2 -2",
    ),
    (f"{DAMIANO} g6 Qxe5+", "36 4", "-2 -1"),
    (f"{DAMIANO} g6 Qxe5+ Qe7 Qxh8", "42 32", "-1 4"),
    (f"{DAMIANO} Ke7 Qxe5+ Kf7 Bc4+", "38 1 42 2", "-2 -1 -1 -1"),
    (f"{DAMIANO} Ke7 Qxe5+ Kf7 Bc4+ Kg6 Qf5+ Kh6 d4+", "49 1 50 2", "-1 -1 -1 -1"),
    (f"{DAMIANO} Ke7 Qxe5+ Kf7 Bc4+ d5 Bxd5+ Kg6", "44 3 43", "-1 0 0"),
    ("e4 e5 Nf3 f6 Nxe5 Qe7 Nf3 Qxe4+", "35 27 2", "1 1 0"),
    ("e4 e5 Bc4 Nc6 Qh5 Nf6 Qxf7#", "20 29 29 33 28 43 0", "0 0 0 0 0 0 1"),
    ("e4 e5 Nf3 f6 Nxe5 Qe7 Qh5+ g6 Nxg6 Qxe4+ Be2 Qxg6", "X X X X X X", "1 1 2 1 1 -2"),
    ("e4 e5 Bc4 Nc6 Qh5 g6", "42", "0"),
    ("f4 e6 g4 Qh4#", "0", "0"),
    ("f3 e5 g4 Qh4#", "20 19 30 0", "0 0 0 0"),
    (LEGAL, "35 38 40 1 38 0", "0 1 -8 -7 -7 -7"),
    (LEGAL_NC6, "35 41 40 1 39 0", "0 1 -8 -7 -7 -7"),
    ("e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 Qg5 Nxf7 Qxg2 Rf1 Qxe4+ Be2 Nf3#", "2 X 0", "X X 0"),
    ("e4 c6 d4 d5 Nc3 dxe4 Nxe4 Nd7 Qe2 Ngf6 Nd6#", "24 40 0", "0 0 0"),
    (PETROV, "36 3", "0 0"),
    (
        ELEPHANT,
        "26 33 32 1",
        "1 -2 7 7",
    ),
    (f"{ELEPHANT} Qd2 Bxd2+ Kxd2 Kxd8", "38 2 31 23", "7 -2 1 -2"),  # a piece for a pawn
    (ENGLUND[: ENGLUND.index(" Bd2")], "6", "X"),
    (ENGLUND, "0", "X"),
]


@pytest.mark.parametrize(("line", "replies", "balances"), PLIES)
def test_replies_and_balance_after_each_ply(line, replies, balances):
    facts = line_facts(parse_position(line))
    wanted = list(zip(replies.split(), balances.split(), strict=True))
    for fact, (count, pawns) in zip(facts[-len(wanted) :], wanted, strict=True):
        assert count in ("X", str(fact.replies)), fact
        assert pawns in ("X", str(fact.balance)), fact


@pytest.mark.parametrize(
    ("line", "replies"),
    [
        (DAMIANO, {"Ke7", "g6"}),
        (f"{DAMIANO} Ke7 Qxe5+", {"Kf7"}),
        (f"{DAMIANO} Ke7 Qxe5+ Kf7 Bc4+", {"Kg6", "d5"}),
        (f"{DAMIANO} Ke7 Qxe5+ Kf7 Bc4+ Kg6 Qf5+", {"Kh6"}),
        (f"{DAMIANO} Ke7 Qxe5+ Kf7 Bc4+ Kg6 Qf5+ Kh6 d4+", {"g5", "Qg5"}),
        (f"{DAMIANO} Ke7 Qxe5+ Kf7 Bc4+ d5 Bxd5+", {"Kg6", "Qxd5", "Be6"}),
        ("e4 e5 Nf3 f6 Nxe5 Qe7 Nf3 Qxe4+", {"Be2", "Qe2"}),
        (LEGAL[: LEGAL.index(" Ke7")], {"Ke7"}),
        (LEGAL_NC6[: LEGAL_NC6.index(" Ke7")], {"Ke7"}),
        (PETROV, {"Be7", "Qe7", "Ne4"}),
        (ELEPHANT, {"Qd2"}),
    ],
)
def test_the_only_replies_are_named(line, replies):
    last = line_facts(parse_position(line))[-1]
    assert set(last.only_replies) == replies
    assert last.replies == len(replies)
    assert last.check


def test_many_replies_are_not_named():
    assert line_facts(parse_position("e4"))[0].only_replies == ()


def test_after_damiano_with_g6_the_queen_attacks_king_and_rook_at_once():
    board = parse_position(f"{DAMIANO} g6 Qxe5+").board()
    assert set(attacked_by(board, "e5")) == {"Ke8", "Rh8", "c7"}


# The line, what the last moved piece attacks with a threat, and the double attack.
ATTACKS = [
    (DAMIANO, "e5 Ke8", "e5 Ke8"),
    (f"{DAMIANO} g6 Qxe5+", "Ke8 Rh8", "Ke8 Rh8"),
    (f"{DAMIANO} Ke7 Qxe5+", "Ke7", ""),
    ("e4 e5 Nf3 f6 Nxe5 Qe7 Nf3 Qxe4+", "Ke1", ""),
    ("e4 e5 Bc4 Nc6 Qh5", "", ""),
    ("e4 e5 Bc4 Nc6 Qh5 Nf6", "e4 Qh5", "e4 Qh5"),
    (PETROV, "Qd8", "Qd8 Ke8"),
    (LEGAL[: LEGAL.index(" Bxd1")], "Bg4", ""),
    ("e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 Qg5", "g2 Ne5", "g2 Ne5"),
    ("e4 e5 Nf3 Nc6 Bc4 Nd4 Nxe5 Qg5 Nxf7", "Qg5 Rh8", "Qg5 Rh8"),
    (ENGLUND[: ENGLUND.index(" Bd2")], "Ke1 b2 Bf4", "Ke1 b2 Bf4"),
    (ELEPHANT, "Ke1", ""),
    ("8/r1P4k/8/8/8/8/8/4K3 w - - 0 1 c8N", "Ra7", ""),
]


@pytest.mark.parametrize(("line", "attacks", "double"), ATTACKS)
def test_what_the_moved_piece_attacks_that_is_undefended_or_worth_more(line, attacks, double):
    last = line_facts(parse_position(line))[-1]
    assert last.attacks == tuple(attacks.split())
    assert last.double_attack == tuple(double.split())


def test_a_square_is_followed_through_the_line():
    facts = line_facts(parse_position("e4 e5 Nf3 f6 Nxe5"), "e5")
    assert [fact.square for fact in facts] == [
        SquareFacts(None, (), ()),
        SquareFacts("e5", (), ()),
        SquareFacts("e5", ("Nf3",), ()),
        SquareFacts("e5", ("Nf3",), ("f6",)),
        SquareFacts("Ne5", (), ("f6",)),
    ]
    assert line_facts(parse_position("e4"))[0].square is None


def test_a_word_that_is_no_square_is_refused():
    with pytest.raises(UsageError, match="--square i9: not a square; write for example d4"):
        line_facts(parse_position("e4"), "i9")


@pytest.mark.parametrize(("guard", "threatened"), [("8", ("d5",)), ("2p5", ())])
def test_a_king_threatens_only_what_nothing_guards(guard, threatened):
    facts = line_facts(parse_position(f"7k/8/{guard}/3p4/5K2/8/8/8 w - - 0 1 Ke5"))
    assert facts[0].attacks == threatened


def test_after_each_reply_the_rook_falls():
    position = parse_position(f"{DAMIANO} g6 Qxe5+")
    for reply in ("e8f7", "g8e7", "f8e7", "d8e7"):
        after = position.after(reply).after("e5h8")
        assert balance(after.board()) == 4


def test_after_each_reply_to_the_discovered_check_the_queen_falls():
    position = parse_position(PETROV)
    for reply, takes in (("d8e7", "c6e7"), ("f8e7", "c6d8"), ("f6e4", "c6d8")):
        assert balance(position.after(reply).after(takes).board()) == 9


def test_the_four_move_mate_has_the_position_that_is_known():
    mated = "r1bqkb1r/pppp1Qpp/2n2n2/4p3/2B1P3/8/PPPP1PPP/RNB1K1NR b KQkq - 0 4"
    assert parse_position("e4 e5 Bc4 Nc6 Qh5 Nf6 Qxf7#").board().fen() == mated


def test_after_the_king_move_white_has_two_pawns_for_the_knight_and_a_check():
    facts = line_facts(parse_position(f"{DAMIANO} Ke7 Qxe5+ Kf7 Bc4+"))
    assert facts[-1].check
    assert facts[-1].balance == 2 - 3


@pytest.mark.parametrize(
    "line",
    [
        "e4 e5 Bc4 Nc6 Qh5 Nf6 Qxf7#",
        "e4 e5 Qh5 Nc6 Bc4 Nf6 Qxf7#",
        "f3 e5 g4 Qh4#",
        LEGAL,
        LEGAL_NC6,
    ],
)
def test_mates_are_mates(line):
    last = line_facts(parse_position(line))[-1]
    assert (last.mate, last.check, last.stalemate, last.replies) == (True, True, False, 0)


def test_a_stalemate_is_no_mate():
    last = line_facts(parse_position("7k/8/6K1/8/8/8/5Q2/8 w - - 0 1 Qf7"))[-1]
    assert (last.mate, last.check, last.stalemate) == (False, False, True)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("e4 e5 Bc4 Nc6 Qh5 Nf6 Qxf7#", "e4 e5 Qh5 Nc6 Bc4 Nf6 Qxf7#"),
        ("f3 e5 g4 Qh4#", "g4 e5 f3 Qh4#"),
        ("e4 e5 Nf3 d6 Bc4 Nc6 Nc3 Bg4", "e4 e5 Nf3 Nc6 Bc4 d6 Nc3 Bg4"),  # before Legal's mate
    ],
)
def test_two_ways_to_a_position_are_one(one, other):
    assert parse_position(one).key == parse_position(other).key


def test_before_castling_f7_is_guarded_by_the_king_alone():
    assert guards(parse_position("").board(), "f7") == ("Ke8",)
    assert guards(parse_position("e4 e5 Bc4 Nc6 Qh5").board(), "f7") == ("Ke8",)


@pytest.mark.parametrize(
    ("line", "men"),
    [("d4", {"Nf3", "Qd1"}), ("c3 Nf6 d4", {"Nf3", "Qd1", "c3"})],
)
def test_the_pawn_on_d4_is_attacked_three_times(line, men):
    board = parse_position(f"e4 e5 Nf3 Nc6 Bc4 Bc5 {line}").board()
    assert set(attackers(board, "d4")) == {"e5", "Nc6", "Bc5"}
    assert set(guards(board, "d4")) == men


def test_an_empty_square_has_no_attackers_or_guards():
    with pytest.raises(ValueError, match="e4 is empty"):
        attackers(parse_position("").board(), "e4")
