import chess
import pytest

from explorer.positions.names import find_name, fold, name_along, name_of_key, similar_names, table
from explorer.positions.typed import parse_position
from ingest.poskey import key_of


def test_there_are_at_least_150_named_positions():
    assert len(table()) >= 150


def test_no_two_names_share_a_position():
    assert len({named.key for named in table()}) == len(table())


def test_no_two_positions_share_a_name_however_it_is_spelt():
    spellings = [s.replace(" ", "") for named in table() for s in set(named.spellings())]
    assert len(set(spellings)) == len(spellings)


def test_every_line_is_legal_and_written_in_san():
    for named in table():
        board = chess.Board()
        for san in named.line:
            move = board.parse_san(san)
            assert board.san(move) == san, named
            board.push(move)
        assert key_of(board) == named.key


@pytest.mark.parametrize("named", table(), ids=lambda named: named.name)
def test_every_name_typed_leads_to_its_position(named):
    for name in (named.name, *named.also):
        position = parse_position(name)
        assert position.key == named.key
        assert position.name == position.opening == named.name


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Caro Kann", "Caro-Kann Defence"),
        ("carokann", "Caro-Kann Defence"),
        ("CARO-KANN DEFENSE", "Caro-Kann Defence"),
        ("Gruenfeld", "Grünfeld Defence"),
        ("Grunfeld", "Grünfeld Defence"),
        ("Grünfeld Defense", "Grünfeld Defence"),
        ("Petroff", "Petrov's Defence"),
        ("petrov defence", "Petrov's Defence"),
        ("Petroffs Defense", "Petrov's Defence"),
        ("Center Game", "Centre Game"),
        ("King’s Gambit", "King's Gambit"),
        ("kings gambit", "King's Gambit"),
        ("Légal's Mate", "Legal's Mate"),
        ("scholars mate", "Four-Move Mate"),
        ("Saemisch", None),
        ("Reti", "Réti Opening"),
        ("Møller Attack", "Giuoco Piano, Möller Attack"),
        ("Spanish", "Ruy Lopez"),
    ],
)
def test_a_name_is_found_whatever_the_spelling(typed, name):
    found = [named.name for named in find_name(typed)]
    assert found == [name] if name else len(found) > 1


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Queen's Gambit", "Queen's Gambit"),
        ("King's Gambit Accepted", "King's Gambit Accepted"),
        ("Indian Defence", "Indian Defence"),
        ("Italian", "Italian Game"),
    ],
)
def test_an_exact_name_beats_a_beginning(typed, name):
    assert [named.name for named in find_name(typed)] == [name]


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("sicil", "Sicilian Defence"),
        ("Evans", "Evans Gambit"),
        ("Slav", "Slav Defence"),
    ],
)
def test_a_beginning_beats_words_inside_other_names(typed, name):
    assert [named.name for named in find_name(typed)] == [name]


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Winawer", None),
        ("French Winawer", "French Defence, Winawer Variation"),
        ("advance caro", "Caro-Kann Defence, Advance Variation"),
        ("Panov", "Caro-Kann Defence, Panov Attack"),
    ],
)
def test_words_in_any_order_find_a_name(typed, name):
    found = [named.name for named in find_name(typed)]
    assert found == [name] if name else len(found) > 1


@pytest.mark.parametrize("typed", ["", "  ", "?!", "no such opening"])
def test_what_is_no_name_finds_nothing(typed):
    assert find_name(typed) == []


def test_a_slip_of_the_pen_is_met_with_the_name():
    assert similar_names("Cicilian")[0] == "Sicilian Defence"
    assert similar_names("zzzz") == []
    assert similar_names("?") == []


def test_folding_leaves_plain_words():
    assert fold("Grünfeld Defense, King’s-Side") == fold("gruenfeld defence kings side")


def test_a_position_is_named_by_every_move_order():
    # Common practice, no source: the Four Knights by way of the Petrov.
    assert parse_position("e4 e5 Nf3 Nf6 Nc3 Nc6").name == "Four Knights Game"
    assert parse_position("d4 f5 e4 fxe4 Nc3").name is None
    assert parse_position("e4 e5 Nc3 Nc6 Nf3 Nf6").name == "Four Knights Game"


def test_the_deeper_name_wins_along_a_line():
    line = [parse_position(moves).key for moves in ("e4", "e4 c5", "e4 c5 Nf3 a5")]
    assert name_along(line) == "Sicilian Defence"
    assert name_along([]) is None
    assert name_of_key(0) is None
