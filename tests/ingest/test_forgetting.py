"""A name goes from everywhere in a library, and the rest of it stays."""

from __future__ import annotations

from pathlib import Path

import pytest

from ingest import ledger, schema
from ingest.digest import digest
from ingest.errors import LibraryBusy, LibraryMissing, NothingFound, UsageError
from ingest.forgetting import Person, forget, what_to_forget
from ingest.locks import held
from ingest.pipeline import AddOptions
from ingest.removal import remove_collection
from tests.support.byte_search import found_in
from tests.support.libraries import CUT, Game, add, ask, change, sound, write

AMBER = ("Vane, Amber", "Amber Vane", "Vane", "Amber", "ambervane", "vaneamber")
CARL = Game(white="Quill, Edda", black="Olander, Birk", date="2023.02.01", result="0-1")


def everywhere() -> list[Game | str]:
    """Games that have the name in every place where a name can stand."""
    return [
        Game(event="Vane - Olander", more='[Site "Amber\'s house"]', white_rating="812"),
        Game(event="Vane - Olander", more='[Site "Amber\'s house"]', white_rating="812"),
        Game(white="Olander, Birk", black="AMBER VANE", date="2025.??.??", black_rating="940"),
        Game(white="Quill, Edda", event="Amber Vane Memorial", round="Vane, Amber"),
        Game(moves="1. e5", round="7"),
        Game(moves="1. e5", event="E" * 93, round="8"),  # the excerpt ends in the name
        Game(moves="1. e5 {as Amber Vane and\nVane, Am", white="Quill, Edda", event="x" * 40),
        Game(white="Vane, Amber", moves="1. e4 e5 2. Ke4", result="0-1"),
        Game(white="Fenn, Dario", more='[TimeControl "vane_amber"]', date="2022.01.01"),
        Game(white="Fenn, Dario", date="2022.02.02").pgn.replace('"1-0"', '"Amber Vane"'),
        CARL,
    ]


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """A library that has the name in every text, and another collection."""
    path = tmp_path / "library"
    (tmp_path / "Vane, Amber").mkdir()
    file = write(tmp_path / "Vane, Amber" / "vane.pgn", *everywhere())
    options = AddOptions(rating_scale="of Amber Vane")
    add(path, file, collection="Vane, Amber", options=options)
    add(path, write(tmp_path / "b.pgn", CARL, Game()), collection="club")
    return path


def test_no_byte_of_the_name_is_left_in_the_library_or_beside_it(library: Path) -> None:
    """All of it was there before, in bytes or compressed."""
    assert {text for _, text in found_in(library, *AMBER[:5])} == set(AMBER[:5])
    forget(library, ["amber vane"])
    assert found_in(library, *AMBER) == []
    sound(library)


def test_the_games_stay_and_the_player_is_still_one(library: Path) -> None:
    counts = "SELECT count(*), count(DISTINCT mover_id), sum(hash(key, move, ply)) FROM visits"
    players = "SELECT id, name FROM players WHERE name NOT LIKE '%V%' ORDER BY id"
    before, others = ask(library, counts), ask(library, players)
    told = forget(library, ["Vane, Amber"])
    assert told.people == (Person("Vane, Amber", 3, 20240506, 20250000, 812, 1200),)
    assert told.games == 3
    assert ask(library, counts) == before
    assert ask(library, players) == [(1, "a player"), *others]
    assert ask(library, "SELECT DISTINCT rating_scale FROM games") == [("of a player",)]


def test_what_would_be_forgotten_is_told_before_and_changes_nothing(library: Path) -> None:
    before = digest(library)
    told = what_to_forget(library, ["Amber Vane"])
    assert digest(library) == before
    assert told.collections == (("Vane, Amber", "a player"),)
    assert told.files == 1
    assert forget(library, ["Amber Vane"]) == told


def test_texts_of_other_games_lose_the_whole_name_only(tmp_path: Path) -> None:
    library = tmp_path / "library"
    games = [
        Game(event="Vane Cup"),
        Game(white="Vane, Carl", event="Vane Cup"),
        Game(white="Lind, Amber", event="Amber Vane Cup", date="2021.01.01"),
    ]
    add(library, write(tmp_path / "a.pgn", *games))
    told = forget(library, ["Vane, Amber"])
    assert ask(library, "SELECT event FROM games ORDER BY id") == [
        ("a player Cup",),
        ("Vane Cup",),
        ("a player Cup",),
    ]
    assert ask(library, "SELECT name FROM players ORDER BY name") == [
        ("Lind, Amber",),
        ("Olander, Birk",),
        ("Vane, Carl",),
        ("a player",),
    ]
    assert told.alike == (("Lind, Amber", 1), ("Vane, Carl", 1))


def test_other_players_with_a_word_of_the_name_are_told_the_nearest_first(tmp_path: Path) -> None:
    library = tmp_path / "library"
    names = (
        "Amber Dora Vane Ost",
        "Vane, Amber (club)",
        "Vane, Carl",
        "Lind, Amber",
        "Lind, Amber",
    )
    games = [Game(white=name, date=f"2021.01.0{day}") for day, name in enumerate(names, start=1)]
    add(library, write(tmp_path / "a.pgn", Game(), *games))
    assert what_to_forget(library, ["Vane, Amber"]).alike == (
        ("Vane, Amber (club)", 1),
        ("Amber Dora Vane Ost", 1),
        ("Lind, Amber", 2),
        ("Vane, Carl", 1),
    )


def test_collections_with_a_word_of_the_name_are_told_and_go_when_asked(tmp_path: Path) -> None:
    """Also after the whole name is gone."""
    library = tmp_path / "library"
    add(library, write(tmp_path / "a.pgn", Game()), collection="the Vanes and Vane")
    assert forget(library, ["Vane, Amber"]).holding == ("the Vanes and Vane",)
    told = forget(library, ["Vane, Amber", "Vane"])
    assert told.collections == (("the Vanes and Vane", "the Vanes and a player"),)
    assert told.people == (Person("Vane", 0),)
    assert found_in(library, "vane,", "vane.", "and vane") == []


@pytest.mark.parametrize(
    "name",
    [
        "Robert'); DROP TABLE players;--",
        "%",
        "Ma_e, 100%",
        "\u202eVane\u202c, \u200fAmber",
        'Vane "Ace", Amber',
        "Back\\Slash, Ann",
        "Ünal-Öz, Şule",
        "O'Neil, Pat",
        "王伟",
        "🦄",
        "Ann [club]",
        "Event, White",
        "x" * 300,
    ],
)
def test_hostile_names_go_too(tmp_path: Path, name: str) -> None:
    """And the opponent, whose name begins alike, stays."""
    library = tmp_path / "library"
    written = name.replace("\\", "\\\\").replace('"', '\\"')
    near = f"Z{name}".replace("\\", "\\\\").replace('"', '\\"')
    text = Game(white=written, black=near).pgn + Game(white=near, black=written, moves="1. e5").pgn
    (tmp_path / "a.pgn").write_text(text, "utf-8")
    add(library, tmp_path / "a.pgn")
    ((kept,),) = ask(library, "SELECT name FROM players ORDER BY id DESC LIMIT 1")
    forget(library, [name])
    assert ask(library, "SELECT name FROM players ORDER BY id") == [("a player",), (kept,)]
    ((excerpt,),) = ask(library, "SELECT excerpt FROM rejects")
    assert '[Black "a player"]' in excerpt or len(name) > 200
    again = add(library, tmp_path / "a.pgn", collection="again")
    assert again.totals.duplicates == 1
    assert ask(library, "SELECT count(*) FROM players") == [(2,)]
    sound(library)


def test_the_same_file_again_is_duplicates_and_brings_no_name_back(
    library: Path, tmp_path: Path
) -> None:
    forget(library, ["Vane, Amber"])
    before = digest(library)
    file = tmp_path / "Vane, Amber" / "vane.pgn"
    options = AddOptions(rating_scale="of Amber Vane")
    report = add(library, file, collection="Vane, Amber", options=options)
    assert report.files[0].already_in
    assert report.collection == "a player"
    assert digest(library) == before
    copy = write(tmp_path / "Amber Vane.pgn", *everywhere(), "\n")
    report = add(library, copy, collection="Vane, Amber")
    assert report.totals.added == 0
    assert found_in(library, *AMBER) == []
    assert [entry.name for entry in ledger.collections(library)] == ["a player", "club"]
    sound(library)


def test_a_name_stays_forgotten_after_its_last_game_went(library: Path, tmp_path: Path) -> None:
    forget(library, ["Vane, Amber"])
    for name in ("a player", "club"):
        remove_collection(library, name)
    assert ask(library, "SELECT count(*) FROM players") == [(0,)]
    add(library, tmp_path / "Vane, Amber" / "vane.pgn", collection="Amber Vane")
    assert [entry.name for entry in ledger.collections(library)] == ["a player 2"]
    assert found_in(library, *AMBER) == []
    sound(library)


FILES = {
    "A": [Game(), Game(white="Fenn, Dario", black="Vane, Amber"), Game(moves="1. e5")],
    "B": everywhere(),
    "C": [CARL, CUT, Game(date="2024.??.??", event="Amber's club"), Game(moves="1. d4 d5")],
}


@pytest.mark.parametrize("names", [("Vane, Amber",), ("Vane, Amber", "Olander, Birk")])
def test_adding_and_forgetting_in_any_order_gives_the_same_library(
    tmp_path: Path, names: tuple[str, ...]
) -> None:
    """Also when the names go one by one, and a game's better record comes late."""
    for name, games in FILES.items():
        write(tmp_path / f"{name} vane.pgn", *games)
    digests = set()
    for order in ("ABCf", "A1BC2", "BfCA"):
        library = tmp_path / order
        for step in order:
            if step in FILES:
                add(library, tmp_path / f"{step} vane.pgn", collection="Vane, Amber")
            elif some := {"f": names, "1": names[:1], "2": names[1:]}[step]:
                forget(library, some)
        sound(library)
        assert found_in(library, *AMBER) == []
        digests.add(digest(library))
    assert len(digests) == 1


def test_two_forgotten_players_stay_two(library: Path) -> None:
    forget(library, ["Vane, Amber", "Quill, Edda"])
    rows = ask(library, "SELECT name, same FROM players ORDER BY same LIMIT 2")
    assert [name for name, _ in rows] == ["a player", "a player"]
    assert rows[0][1] != rows[1][1]
    assert found_in(library, *AMBER, "Quill", "Edda") == []
    sound(library)


def test_a_collections_new_name_is_cleaned_of_the_next_one_too(tmp_path: Path) -> None:
    library = tmp_path / "library"
    called = "Amber Vane, Edda Quill"
    add(library, write(tmp_path / "a.pgn", Game(), CARL), collection=called)
    add(library, write(tmp_path / "c.pgn", CUT), collection="Amber Vane")
    forget(library, ["Vane, Amber"])
    remove_collection(library, "a player")
    forget(library, ["Quill, Edda"])
    assert found_in(library, *AMBER, "Quill", "Edda") == []
    report = add(library, write(tmp_path / "b.pgn", Game(date="2020.01.01")), collection=called)
    assert report.collection == "a player, a player"
    assert len(ledger.collections(library)) == 1


def test_a_forgotten_name_comes_back_when_asked(library: Path, tmp_path: Path) -> None:
    """With all its games, though the file is in already; and goes again."""
    forget(library, ["Vane, Amber"])
    file = tmp_path / "Vane, Amber" / "vane.pgn"
    options = AddOptions(rating_scale="of a player", remember=("amber VANE",))
    assert add(library, file, collection="a player", options=options).files[0].already_in
    games = "SELECT count(*) FROM games JOIN players ON players.id IN (white_id, black_id)"
    assert ask(library, f"{games} WHERE name = 'amber VANE'") == [(3,)]
    add(library, write(tmp_path / "c.pgn", Game(date="2019.01.01")), collection="Vane, Amber")
    assert ask(library, f"{games} WHERE same = 'ambervane'") == [(4,)]
    assert len(ledger.collections(library)) == 3
    sound(library)
    forget(library, ["Vane, Amber"])
    assert found_in(library, *AMBER) == []


def test_only_a_forgotten_name_can_be_remembered(library: Path, tmp_path: Path) -> None:
    for name in ("Vane, Amber", "?"):
        with pytest.raises(NothingFound, match="no such name was forgotten"):
            add(library, tmp_path / "b.pgn", options=AddOptions(remember=(name,)))
    with pytest.raises(LibraryMissing):
        add(tmp_path / "none", tmp_path / "b.pgn", options=AddOptions(remember=("Vane, Amber",)))
    assert not (tmp_path / "none").exists()


def test_a_player_of_a_file_called_a_player_is_nobody(tmp_path: Path) -> None:
    """Else all forgotten players of an exported file would be one."""
    library = tmp_path / "library"
    add(library, write(tmp_path / "a.pgn", Game(white="a player"), Game(white="Player, A")))
    assert ask(library, "SELECT name FROM players ORDER BY name") == [
        ("Olander, Birk",),
        ("Player, A",),
    ]


def test_an_unknown_name_gets_the_nearest_with_their_games(library: Path) -> None:
    before = digest(library)
    with pytest.raises(NothingFound, match=r"'Vane, Ambre': .* Vane, Amber \(3\); "):
        forget(library, ["Vane, Ambre"])
    with pytest.raises(NothingFound, match="Vane, Ambre"):
        forget(library, ["Vane, Amber", "Vane, Ambre"])
    assert digest(library) == before
    forget(library, ["Vane, Amber"])
    with pytest.raises(NothingFound, match="forgotten already"):
        forget(library, ["Vane, Amber"])
    with pytest.raises(NothingFound) as error:
        forget(library, ["a players"])
    assert "a player (" not in str(error.value)
    schema.create(library.parent / "empty")
    with pytest.raises(NothingFound, match="are: nobody"):
        forget(library.parent / "empty", ["Vane, Amber"])


@pytest.mark.parametrize("name", ["", "?", "N.N.", "a player"])
def test_nobody_cannot_be_forgotten(library: Path, name: str) -> None:
    with pytest.raises(UsageError, match="names nobody"):
        forget(library, [name])


def test_nothing_is_forgotten_in_no_library_or_a_busy_one(library: Path, tmp_path: Path) -> None:
    with pytest.raises(LibraryMissing):
        forget(tmp_path / "none", ["Vane, Amber"])
    with held(library), pytest.raises(LibraryBusy):
        forget(library, ["Vane, Amber"])


def test_a_name_in_the_ledger_alone_can_be_forgotten(tmp_path: Path) -> None:
    library = tmp_path / "library"
    add(library, write(tmp_path / "a.pgn", Game(moves="1. e5"), CARL))
    assert forget(library, ["Vane, Amber"]).people == (Person("Vane, Amber", 0),)
    assert found_in(library, *AMBER) == []


def test_rows_that_a_log_still_holds_are_forgotten_too(library: Path) -> None:
    """As a process leaves them that was killed before DuckDB emptied its log."""
    change(library, "SET wal_autocheckpoint = '1GB'")
    change(library, "PRAGMA disable_checkpoint_on_shutdown; UPDATE files SET name = 'Vane.pgn'")
    assert library.with_name("library.wal").exists()
    forget(library, ["Vane, Amber"])
    assert found_in(library, *AMBER) == []
