"""Adding what is there already: duplicates, collections, any order, removal."""

import random
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from ingest import reading
from ingest.digest import digest
from ingest.pipeline import AddOptions
from ingest.removal import remove_collection
from ingest.tags import Pace
from tests.support.libraries import LONG, SHORT, Game, add, ask, sound, write


@pytest.fixture
def library(tmp_path: Path) -> Path:
    return tmp_path / "games.library"


def test_the_same_file_is_already_in_and_not_read_again(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Under any name; but other options, or another collection, read it again."""
    file, copy = write(tmp_path / "a.pgn", Game()), write(tmp_path / "b.pgn", Game())
    add(library, file)
    before = digest(library)
    with monkeypatch.context() as patched:
        patched.setattr(reading, "split", None)
        assert add(library, file, copy).files[1].already_in
    assert digest(library) == before
    assert not add(library, file, options=AddOptions(pace=Pace.RAPID)).files[0].already_in
    assert not add(library, file, collection="school").files[0].already_in
    sound(library)


def test_of_one_file_read_twice_the_options_given_count(library: Path, tmp_path: Path) -> None:
    """Whatever the order."""
    file = write(tmp_path / "a.pgn", Game(black_rating="-"))
    for options in (None, AddOptions(unrated_as=700), None):
        add(library, file, options=options)
        add(library, file, options=options, collection="school")
    assert ask(library, "SELECT black_rating FROM games") == [(700,)]
    assert ask(library, "SELECT DISTINCT opponent_rating FROM visits WHERE ply % 2 = 0") == [(700,)]
    sound(library)


def test_a_duplicate_joins_the_second_collection(library: Path, tmp_path: Path) -> None:
    add(library, write(tmp_path / "a.pgn", Game()))
    again = Game(white="Amber VANE", date="2024.05.??", round="3")
    report = add(library, write(tmp_path / "b.pgn", again), collection="school")
    assert report.totals.duplicates == 1
    assert ask(
        library,
        "SELECT name FROM memberships JOIN collections ON collections.id = collection_id "
        "ORDER BY name",
    ) == [("club",), ("school",)]
    assert ask(library, "SELECT day FROM games") == [(6,)]
    sound(library)


def test_a_fuller_date_replaces_the_vaguer_one(library: Path, tmp_path: Path) -> None:
    """With all the tags of its record, in the visits too."""
    add(library, write(tmp_path / "a.pgn", Game(date="2024.??.??", more='[TimeControl "300"]')))
    fuller = Game(white_rating="1250", more='[TimeControl "3600"]')
    add(library, write(tmp_path / "b.pgn", fuller), collection="school")
    assert ask(
        library,
        "SELECT DISTINCT games.played::VARCHAR, visits.played::VARCHAR, white_rating, games.pace, "
        "visits.pace FROM games JOIN visits ON games.id = game_id",
    ) == [("2024-05-06", "2024-05-06", 1250, Pace.STANDARD, Pace.STANDARD)]
    assert ask(library, "SELECT DISTINCT mover_rating FROM visits WHERE ply % 2 = 0") == [(1250,)]
    sound(library)


def test_black_begins_when_the_starting_position_says_so(library: Path, tmp_path: Path) -> None:
    """Also when a better record gives the visits new ratings."""
    fen = '[FEN "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1"]\n[SetUp "1"]'
    moves = "1... e5 2. Nf3 Nc6 3. Bc4 Bc5 4. c3 Nf6 5. d4 exd4 6. cxd4"
    vague = Game(date="?", moves=moves, more=fen, white_rating="1111")
    add(library, write(tmp_path / "a.pgn", vague))
    add(library, write(tmp_path / "b.pgn", Game(moves=moves, more=fen)))
    assert ask(library, "SELECT DISTINCT mover_rating FROM visits WHERE ply % 2 = 0") == [(1000,)]
    sound(library)


def test_two_dates_that_disagree_are_two_games(library: Path, tmp_path: Path) -> None:
    """And the vaguer record stands under the earlier, whatever came first."""
    games = [Game(date=date) for date in ("2024.05.06", "2024.05.02", "2024.??.??")]
    files = [write(tmp_path / f"{n}.pgn", game) for n, game in enumerate(games)]
    digests = set()
    for number, order in enumerate(permutations(range(3))):
        path = tmp_path / f"library{number}"
        for n in order:
            add(path, files[n], collection=f"c{n}")
        sound(path)
        digests.add(digest(path))
        assert ask(
            path,
            "SELECT day, string_agg(name ORDER BY name) FROM games "
            "JOIN memberships ON game_id = games.id "
            "JOIN collections ON collections.id = collection_id "
            "GROUP BY games.id, day ORDER BY day",
        ) == [(2, "c1,c2"), (6, "c0")]
    assert len(digests) == 1


def test_a_nameless_player_is_never_equal(library: Path, tmp_path: Path) -> None:
    report = add(library, write(tmp_path / "a.pgn", *[Game(black="?")] * 2))
    assert report.totals.added == 2
    report = add(library, write(tmp_path / "b.pgn", Game(black="?", round="2")))
    assert report.totals.added == 1


def test_a_nameless_game_of_one_file_in_two_collections_is_one_game(
    library: Path, tmp_path: Path
) -> None:
    file = write(tmp_path / "a.pgn", Game(black="?"), Game(black="?"))
    add(library, file)
    assert add(library, file, collection="school").totals.duplicates == 2
    assert ask(library, "SELECT count(*) FROM memberships") == [(4,)]


@pytest.mark.parametrize(
    ("other", "added"),
    [
        (Game(moves=SHORT), 1),
        (Game(moves=SHORT, event="LANTERN  club evening"), 1),
        (Game(moves=SHORT, round="2"), 2),
        (Game(moves=SHORT, event="Another"), 2),
        (Game(moves=SHORT, result="0-1"), 2),
        (Game(moves=SHORT, date="2024.05.07"), 2),
        (Game(moves=SHORT + " e5"), 1),
    ],
)
def test_a_game_under_ten_plies_is_a_duplicate_only_within_event_and_round(
    library: Path, tmp_path: Path, other: Game, added: int
) -> None:
    report = add(library, write(tmp_path / "a.pgn", Game(moves=SHORT), other))
    if "e5" in other.moves[-3:]:
        assert report.totals.add_up()
    else:
        assert report.totals.added == added


def test_a_cut_game_is_no_duplicate_of_a_whole_one(library: Path, tmp_path: Path) -> None:
    games = (Game(), Game(moves=LONG + " Ke4"), Game(moves=LONG + " Ke4"))
    report = add(library, write(tmp_path / "a.pgn", *games))
    assert (report.totals.added, report.totals.duplicates) == (2, 1)


def test_the_best_spelling_of_a_name_is_shown(library: Path, tmp_path: Path) -> None:
    """Whichever came first."""
    first, second = (
        Game(white="VANE, AMBER", round="1"),
        Game(white="Amber Vane", moves=LONG + " d5"),
    )
    for n, games in enumerate(permutations((first, second))):
        path = tmp_path / f"library{n}"
        for k, game in enumerate(games):
            add(path, write(tmp_path / f"{n}{k}.pgn", game))
        assert ask(path, "SELECT name FROM players ORDER BY name") == [
            ("Amber Vane",),
            ("Olander, Birk",),
        ]


GAME = st.builds(
    Game,
    white=st.sampled_from(["Vane, Amber", "amber vane", "Fenn, Dario", "?"]),
    date=st.sampled_from(
        ["????.??.??", "2024.??.??", "2024.05.??", "2024.05.06", "2024.05.07", "2023.01.01"]
    ),
    moves=st.sampled_from([LONG, SHORT, LONG + " Ke4"]),
    round=st.sampled_from(["1", "2"]),
    white_rating=st.sampled_from(["-", "900", "1000"]),
)


PHASES = (Phase.explicit, Phase.reuse, Phase.generate)  # to shrink would take minutes


FILES = st.lists(st.lists(GAME, min_size=1, max_size=4), min_size=2, max_size=4)


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck), phases=PHASES)
@given(files=FILES, seed=st.integers(0, 1000))
def test_any_order_of_adding_gives_the_same_library(
    tmp_path_factory: pytest.TempPathFactory, files: list[list[Game]], seed: int
) -> None:
    """Overlapping files, several collections, in one add or in many."""
    folder = tmp_path_factory.mktemp("orders")
    jobs = [(write(folder / f"{n}.pgn", *games), f"c{n % 2}") for n, games in enumerate(files)]
    digests = []
    for n in range(3):
        path = folder / f"library{n}"
        for file, collection in jobs:
            add(path, file, collection=collection)
        sound(path)
        digests.append(digest(path))
        random.Random(seed + n).shuffle(jobs)
    whole = folder / "whole"
    for collection in ("c1", "c0"):
        add(whole, *(file for file, c in jobs if c == collection), collection=collection)
    assert set(digests) == {digest(whole)}


@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck), phases=PHASES)
@given(files=FILES)
def test_removing_and_adding_again_changes_nothing(
    tmp_path_factory: pytest.TempPathFactory, files: list[list[Game]]
) -> None:
    folder = tmp_path_factory.mktemp("removals")
    paths = [write(folder / f"{n}.pgn", *games) for n, games in enumerate(files)]
    library = folder / "library"
    for n, path in enumerate(paths):
        add(library, path, collection=f"c{n % 2}")
    before = digest(library)
    for collection in ("c0", "c1"):
        remove_collection(library, collection)
        sound(library)
        add(library, *paths[int(collection[1]) :: 2], collection=collection)
        sound(library)
        assert digest(library) == before
