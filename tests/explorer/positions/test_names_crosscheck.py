"""Names and keys against an independent registry package.

The package ocn-chess (PyPI, version 1.2.1 or later) carries a catalogue by
Club d'Escacs Figueres, licensed CC BY 4.0
(https://creativecommons.org/licenses/by/4.0/). It is read here for comparison
only; nothing of it is part of our table.
"""

import csv
import io
from importlib.resources import files

import pytest

from explorer.positions.names import fold, name_of_key, table
from explorer.positions.typed import parse_position
from ingest.poskey import format_key

# Names on which two published tables agree, apart from spelling and family.
AGREED = {
    "Italian Game": "e4 e5 Nf3 Nc6 Bc4",
    "Giuoco Piano": "e4 e5 Nf3 Nc6 Bc4 Bc5",
    "Giuoco Pianissimo": "e4 e5 Nf3 Nc6 Bc4 Bc5 d3",
    "Evans Gambit": "e4 e5 Nf3 Nc6 Bc4 Bc5 b4",
    "Two Knights": "e4 e5 Nf3 Nc6 Bc4 Nf6",
    "Hungarian": "e4 e5 Nf3 Nc6 Bc4 Be7",
    "Philidor": "e4 e5 Nf3 d6",
    "Petroff": "e4 e5 Nf3 Nf6",
    "Scotch Game": "e4 e5 Nf3 Nc6 d4",
    "Ponziani": "e4 e5 Nf3 Nc6 c3",
    "Ruy Lopez": "e4 e5 Nf3 Nc6 Bb5",
    "Three Knights": "e4 e5 Nf3 Nc6 Nc3",
    "Four Knights": "e4 e5 Nf3 Nc6 Nc3 Nf6",
    "Vienna Game": "e4 e5 Nc3",
    "Bishop's Opening": "e4 e5 Bc4",
    "King's Gambit": "e4 e5 f4",
    "King's Gambit Accepted": "e4 e5 f4 exf4",
    "Damiano Defence": "e4 e5 Nf3 f6",
    "Latvian Gambit": "e4 e5 Nf3 f5",
    "Elephant Gambit": "e4 e5 Nf3 d5",
    "Danish Gambit": "e4 e5 d4 exd4 c3",
    "Sicilian": "e4 c5",
    "Najdorf": "e4 c5 Nf3 d6 d4 cxd4 Nxd4 Nf6 Nc3 a6",
    "French": "e4 e6",
    "Caro-Kann": "e4 c6",
    "Scandinavian": "e4 d5",
    "Pirc": "e4 d6 d4 Nf6 Nc3 g6",
    "Modern": "e4 g6",
    "Alekhine": "e4 Nf6",
    "Nimzowitsch": "e4 Nc6",
    "Queen's Gambit": "d4 d5 c4",
    "Queen's Gambit Accepted": "d4 d5 c4 dxc4",
    "Queen's Gambit Declined": "d4 d5 c4 e6",
    "Slav": "d4 d5 c4 c6",
    "Albin": "d4 d5 c4 e5",
    "London System": "d4 d5 Nf3 Nf6 Bf4",
    "Nimzo-Indian": "d4 Nf6 c4 e6 Nc3 Bb4",
    "Queen's Indian": "d4 Nf6 c4 e6 Nf3 b6",
    "Budapest": "d4 Nf6 c4 e5",
    "English": "c4",
    "Dutch": "d4 f5",
    "Bird": "f4",
    "Blackmar-Diemer": "d4 d5 e4",
    "Englund": "d4 e5",
}


@pytest.fixture(scope="module")
def catalogue():
    text = files("ocn").joinpath("data/ocn-1.positions.tsv").read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(text), delimiter="\t"))


@pytest.mark.parametrize("name", list(AGREED))
def test_an_agreed_name_is_the_name_of_its_position_here_and_there(catalogue, name):
    key = parse_position(AGREED[name]).key
    ours = name_of_key(key)
    assert ours is not None
    assert fold(name) in fold(ours)
    theirs = [row["canonical_name"] for row in catalogue if int(row["zobrist"]) == key]
    assert any(fold(name) in fold(other) for other in theirs), theirs


def test_most_named_positions_are_in_the_catalogue(catalogue):
    theirs = {int(row["zobrist"]) for row in catalogue}
    found = sum(named.key in theirs for named in table())
    assert found > 0.85 * len(table())


def test_typed_moves_and_typed_fens_give_the_keys_of_the_catalogue(catalogue):
    # Every 40th row: the whole is long, and its en passant captures are all legal.
    for row in catalogue[::40]:
        if row["moves_uci"]:
            key = format_key(int(row["zobrist"]))
            assert format_key(parse_position(row["moves_uci"]).key) == key, row
            assert format_key(parse_position(row["fen"]).key) == key, row
