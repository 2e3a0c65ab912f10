"""Taking a collection out again, and reading the ledger."""

from pathlib import Path

import pytest

from ingest import ledger, schema
from ingest.digest import digest
from ingest.errors import LibraryBusy, LibraryMissing, NothingFound, UsageError
from ingest.ledger import Collection
from ingest.locks import held
from ingest.removal import remove_collection
from ingest.verify import verify
from tests.support.libraries import LONG, Game, add, ask, write

BAD = Game(moves="1. e5", round="7")


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """A club with three games, one of them the school's as well, which has one more."""
    path = tmp_path / "library"
    own = Game(white="Fenn, Dario", date="2021.01.01")
    add(path, write(tmp_path / "a.pgn", Game(), own, Game(black="?"), BAD))
    school = Game(white="Quill, Edda", date="????.??.??")
    add(path, write(tmp_path / "b.pgn", Game(), school, school), collection="school")
    return path


def test_collections_are_listed_by_name(library: Path) -> None:
    assert ledger.collections(library) == [
        Collection("club", 1, 3, 3, 1, 2021, 2024),
        Collection("school", 1, 2, 3, 0, 2024, 2024),
    ]


def test_the_ledger_can_be_read_for_one_collection(library: Path) -> None:
    assert [line.kind for line in ledger.rejects(library)] == ["rejected", "duplicate", "duplicate"]
    assert [line.collection for line in ledger.rejects(library, "club")] == ["club"]
    with pytest.raises(UsageError, match="club, school"):
        ledger.rejects(library, "nowhere")


def test_an_empty_library_has_no_collections(tmp_path: Path) -> None:
    schema.create(tmp_path / "library")
    assert ledger.collections(tmp_path / "library") == []
    with pytest.raises(UsageError, match="none"):
        ledger.rejects(tmp_path / "library", "club")
    with pytest.raises(NothingFound):
        remove_collection(tmp_path / "library", "club")


def test_a_game_goes_with_its_last_membership_only(library: Path) -> None:
    removal = remove_collection(library, "club")
    assert (removal.files, removal.games, removal.kept) == (1, 2, 1)
    assert [entry.name for entry in ledger.collections(library)] == ["school"]
    assert ask(library, "SELECT name FROM players ORDER BY name") == [
        ("Olander, Birk",),
        ("Quill, Edda",),
        ("Vane, Amber",),
    ]
    assert [line.kind for line in ledger.rejects(library)] == ["duplicate", "duplicate"]
    assert verify(library).problems == ()


def test_removing_everything_leaves_nothing(library: Path) -> None:
    for name in ("club", "school"):
        remove_collection(library, name)
    for table in ("games", "visits", "players", "files", "rejects", "records", "memberships"):
        assert ask(library, f"SELECT count(*) FROM {table}") == [(0,)]
    assert ask(library, "SELECT count(*) FROM positions") == [(0,)]
    assert verify(library).problems == ()


def test_a_name_that_is_no_collection_lists_those_there_are(library: Path) -> None:
    before = digest(library)
    with pytest.raises(UsageError, match="club, school"):
        remove_collection(library, "Club")
    assert digest(library) == before


def test_nothing_can_be_removed_from_no_library_or_a_busy_one(
    library: Path, tmp_path: Path
) -> None:
    with pytest.raises(LibraryMissing):
        remove_collection(tmp_path / "none", "club")
    with held(library), pytest.raises(LibraryBusy):
        remove_collection(library, "club")


def test_a_game_whose_full_date_was_removed_gives_way_to_an_earlier_one(tmp_path: Path) -> None:
    """The vague record that kept it moves on, and the game goes."""
    library = tmp_path / "library"
    add(library, write(tmp_path / "a.pgn", Game(date="2024.??.??")))
    add(library, write(tmp_path / "b.pgn", Game(date="2024.05.06")), collection="school")
    remove_collection(library, "school")
    assert ask(library, "SELECT day FROM games") == [(6,)]
    earlier = write(tmp_path / "c.pgn", Game(date="2024.02.01"))
    more = write(tmp_path / "d.pgn", Game(date="2024.05.06"), Game(moves=LONG + " d5"))
    report = add(library, earlier, more, collection="school")
    assert report.totals.added == 3
    assert ask(library, "SELECT month FROM games ORDER BY month, plies") == [(2,), (5,), (5,)]
    assert verify(library).problems == ()
