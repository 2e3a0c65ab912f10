import pytest

from explorer.positions.letters import LETTERS, letters_named, localise
from ingest.errors import UsageError


def test_the_table_is_that_of_the_pgn_standard():
    # PGN standard 8.2.3.2, from memory: pawn, knight, bishop, rook, queen, king.
    assert dict(LETTERS.values()) == {
        "Czech": "PJSVDK",
        "Danish": "BSLTDK",
        "Dutch": "OPLTDK",
        "English": "PNBRQK",
        "Estonian": "PROVLK",
        "Finnish": "PRLTDK",
        "French": "PCFTDR",
        "German": "BSLTDK",
        "Hungarian": "GHFBVK",
        "Icelandic": "PRBHDK",
        "Italian": "PCATDR",
        "Norwegian": "BSLTDK",
        "Polish": "PSGWHK",
        "Portuguese": "PCBTDR",
        "Romanian": "PCNTDR",
        "Spanish": "PCATDR",
        "Swedish": "BSLTDK",
    }


@pytest.mark.parametrize(
    ("san", "letters", "printed"),
    [
        ("Nf3", "de", "Sf3"),
        ("exd8=Q+", "de", "exd8=D+"),
        ("O-O-O", "de", "O-O-O"),
        ("Rxb7#", "fr", "Txb7#"),
        ("Kb1", "es", "Rb1"),
        ("1. e4 e5 2. Nf3", "hu", "1. e4 e5 2. Hf3"),
        ("Nbd7", "en", "Nbd7"),
    ],
)
def test_moves_are_printed_with_the_letters_of_a_language(san, letters, printed):
    assert localise(san, letters) == printed


@pytest.mark.parametrize("word", ["de", "DE", "German", " german "])
def test_a_language_is_named_by_its_code_or_its_name(word):
    assert letters_named(word) == "BSLTDK"


def test_an_unknown_language_is_refused():
    with pytest.raises(UsageError, match="--letters klingon: no such language"):
        localise("Nf3", "klingon")


def test_no_language_has_one_letter_for_two_pieces():
    assert all(len(set(letters)) == 6 for _, letters in LETTERS.values())
