"""The whole way from PGN files into a library."""

import gzip
import os
import random
import subprocess
import sys
import threading
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from ingest import loader, locks, pipeline, schema, unpacking
from ingest.digest import digest
from ingest.errors import InputError, LibraryBusy, LibraryDamaged, LibraryError, UsageError
from ingest.ledger import rejects
from ingest.pipeline import AddOptions, Progress, add_collection
from ingest.removal import remove_collection
from ingest.tags import Pace
from ingest.verify import verify
from tests.support.libraries import LONG, SHORT, Game, add, ask, random_games, write

BAD = Game(moves="1. e5 e4", white="Fenn, Dario").pgn
CUT = Game(moves="1. e4 e5 2. Nf3 Nc6 3. Kd4", white="Quill, Edda", result="0-1")


@pytest.fixture
def library(tmp_path: Path) -> Path:
    return tmp_path / "games.library"


def small_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file of some kilobytes takes several steps."""
    monkeypatch.setattr(pipeline, "BLOCK_BYTES", 4000)
    monkeypatch.setattr(unpacking, "CHUNK_BYTES", 2000)


def sound(library: Path) -> None:
    assert verify(library).problems == ()


def test_every_game_found_is_added_or_accounted_for(library: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "a.pgn", Game(), Game(), CUT, BAD, Game(moves=SHORT))
    report = add(library, file)
    (of_file,) = report.files
    assert report.totals.add_up()
    assert (of_file.found, of_file.added, of_file.duplicates) == (5, 3, 1)
    assert (of_file.rejected, of_file.left_out, of_file.cut_short) == (1, 0, 1)
    assert of_file.error is None
    assert of_file.encoding == "UTF-8"
    assert [reject.game_number for reject in report.first_rejects] == [4]
    sound(library)


def test_the_ledger_names_rejects_cuts_and_duplicates(library: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "a.pgn", Game(), Game(), CUT, BAD)
    add(library, file)
    lines = rejects(library)
    assert [(line.game_number, line.kind) for line in lines] == [
        (2, "duplicate"),
        (3, "cut short"),
        (4, "rejected"),
    ]
    assert lines[0].reason == f"the same game as number 1 of {file}"
    assert lines[0].line == 12
    assert all(len(line.excerpt) <= 200 and line.excerpt.startswith("[Event") for line in lines)


def test_duplicates_are_named_up_to_a_bound_and_counted_exactly(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(loader, "DUPLICATES_NAMED", 2)
    report = add(library, write(tmp_path / "a.pgn", *[Game()] * 5))
    assert report.totals.duplicates == 4
    assert len(rejects(library)) == 2
    sound(library)


def test_the_tags_of_a_game_are_kept(library: Path, tmp_path: Path) -> None:
    more = '[TimeControl "300+2"]\n[Site "Pier"]\n[Termination "time forfeit"]\n'
    add(library, write(tmp_path / "a.pgn", Game(date="2024.05.??", more=more, black_rating="-")))
    assert ask(
        library,
        "SELECT white.name, black.name, white_rating, black_rating, rating_scale, result, played, "
        "year, month, day, event, site, round, time_control, pace, termination, start_fen, ending, "
        "cut_short, plies, len(mainline) FROM games "
        "JOIN players AS white ON white.id = white_id JOIN players AS black ON black.id = black_id",
    ) == [
        (
            *("Vane, Amber", "Olander, Birk", 1200, None, None, 2, None, 2024, 5, None),
            *("Lantern Club Evening", "Pier", "1", "300+2", Pace.BLITZ, "time forfeit", None, 0),
            *(False, 11, 11),
        )
    ]


def test_visits_are_seen_from_the_mover(library: Path, tmp_path: Path) -> None:
    add(library, write(tmp_path / "a.pgn", Game(black_rating="-")))
    rows = ask(
        library,
        "SELECT name, mover_rating, opponent_rating, half_points, played::VARCHAR FROM visits "
        "JOIN players ON players.id = mover_id WHERE ply < 2 ORDER BY ply",
    )
    assert rows == [
        ("Vane, Amber", 1200, None, 2, "2024-05-06"),
        ("Olander, Birk", None, 1200, 0, "2024-05-06"),
    ]


def test_what_nobody_knows_is_null(library: Path, tmp_path: Path) -> None:
    game = Game("?", "?", "????.??.??", "*", LONG, "?", "?", "-", "")
    add(library, write(tmp_path / "a.pgn", game))
    assert ask(
        library,
        "SELECT mover_id, mover_rating, opponent_rating, half_points, played "
        "FROM visits GROUP BY ALL",
    ) == [(None,) * 5]
    assert ask(
        library, "SELECT white_id, black_id, result, year, month, day, event, round FROM games"
    ) == [(None,) * 8]


def test_options_stand_in_for_what_the_file_lacks(library: Path, tmp_path: Path) -> None:
    options = AddOptions(pace=Pace.RAPID, unrated_as=700, rating_scale="club")
    add(library, write(tmp_path / "a.pgn", Game(black_rating="-")), options=options)
    assert ask(library, "SELECT white_rating, black_rating, rating_scale, pace FROM games") == [
        (1200, 700, "club", Pace.RAPID)
    ]
    assert ask(library, "SELECT options FROM files") == [
        ("pace=rapid rating-scale=club unrated-as=700",)
    ]


def test_strict_rejects_what_would_be_cut_short(library: Path, tmp_path: Path) -> None:
    report = add(library, write(tmp_path / "a.pgn", Game(), CUT), options=AddOptions(strict=True))
    assert (report.totals.added, report.totals.rejected) == (1, 1)


def test_a_library_has_one_number_of_plies(library: Path, tmp_path: Path) -> None:
    """And an add that asks for another is refused with both numbers."""
    file, other = write(tmp_path / "a.pgn", Game()), write(tmp_path / "b.pgn", CUT)
    add(library, file, options=AddOptions(plies=6))
    assert ask(library, "SELECT max(ply) FROM visits") == [(5,)]
    with pytest.raises(UsageError, match=r"3 moves.*20"):
        add(library, other, options=AddOptions(plies=40))
    assert add(library, other).totals.added == 1
    assert not locks.lock_path(library).exists()


@pytest.mark.parametrize("options", [AddOptions(unrated_as=0), AddOptions(unrated_as=4001)])
def test_options_out_of_range_are_refused(
    library: Path, tmp_path: Path, options: AddOptions
) -> None:
    with pytest.raises(UsageError, match="--unrated-as"):
        add(library, write(tmp_path / "a.pgn", Game()), options=options)
    assert not library.exists()


def test_a_collection_needs_a_name(library: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="--collection"):
        add(library, write(tmp_path / "a.pgn", Game()), collection=" ")


def test_a_path_that_leads_nowhere_makes_no_library(library: Path) -> None:
    with pytest.raises(InputError):
        add_collection(library, ["none.pgn"], "club")
    assert not library.exists()


def test_the_same_file_is_already_in_and_not_read_again(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Under any name; but other options, or another collection, read it again."""
    file, copy = write(tmp_path / "a.pgn", Game()), write(tmp_path / "b.pgn", Game())
    add(library, file)
    before = digest(library)
    with monkeypatch.context() as patched:
        patched.setattr(pipeline, "split", None)
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


def test_how_a_file_is_cut_into_steps_and_runs_changes_nothing(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "a.pgn"
    file.write_text(random_games(1, 150) + random_games(1, 40))
    add(library, file)
    small_steps(monkeypatch)
    monkeypatch.setattr(loader, "RUN_ROWS", 500)
    other = tmp_path / "other"
    add(other, file)
    assert ask(library, "SELECT count(*) FROM runs") == [(1,)]
    assert ask(other, "SELECT count(*) > 3 FROM runs") == [(True,)]
    assert digest(library) == digest(other)
    sound(other)


def test_a_damaged_file_leaves_nothing_and_the_others_go_on(library: Path, tmp_path: Path) -> None:
    whole = write(tmp_path / "a.pgn", Game())
    text = random_games(2, 400).encode()
    packed = gzip.compress(text)
    cut = tmp_path / "b.pgn.gz"
    cut.write_bytes(packed[: len(packed) // 2])
    last = write(tmp_path / "c.pgn", CUT, Game())
    report = add(library, whole, cut, last)
    assert [file.error is None for file in report.files] == [True, False, True]
    assert report.files[1].found == 0
    assert report.totals.add_up()
    assert (report.totals.found, report.totals.duplicates) == (3, 1)
    assert ask(library, "SELECT name FROM files ORDER BY id") == [(str(whole),), (str(last),)]
    sound(library)


def test_progress_tells_games_and_bytes(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    small_steps(monkeypatch)
    file = tmp_path / "a.pgn"
    file.write_text(random_games(3, 60))
    heard: list[Progress] = []
    add_collection(library, [str(file)], "club", progress=heard.append)
    games = [progress.games for progress in heard]
    assert games == sorted(games)
    assert games[-1] == 60
    assert heard[-1].bytes_done == heard[-1].bytes_total == file.stat().st_size


def test_an_interrupt_leaves_the_library_as_it_was(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And no lock, no threads, and nothing beside it."""
    small_steps(monkeypatch)
    monkeypatch.setattr(loader, "RUN_ROWS", 100)
    add(library, write(tmp_path / "a.pgn", Game()))
    before = digest(library)
    other = tmp_path / "b.pgn"
    other.write_text(random_games(4, 300))

    def interrupt(progress: Progress) -> None:
        if progress.games > 50:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        add_collection(library, [str(other)], "club", progress=interrupt)
    assert digest(library) == before
    assert sorted(os.listdir(tmp_path)) == ["a.pgn", "b.pgn", library.name]
    assert threading.active_count() == 1
    assert add(library, other).totals.found == 300
    sound(library)


def test_an_error_in_a_stage_comes_through(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bug keeps its own exception, and the library stays as it was."""

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(pipeline, "replay", broken)
    with pytest.raises(ZeroDivisionError):
        add(library, write(tmp_path / "a.pgn", Game()))
    assert ask(library, "SELECT count(*) FROM files") == [(0,)]
    assert not locks.lock_path(library).exists()


def test_counts_that_do_not_add_up_are_never_committed(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(loader.Counts, "add_up", lambda _: False)
    with pytest.raises(AssertionError, match="do not add up"):
        add(library, write(tmp_path / "a.pgn", Game()))
    assert ask(library, "SELECT count(*) FROM games") == [(0,)]


def test_a_text_file_is_no_library_to_add_to(library: Path, tmp_path: Path) -> None:
    library.write_text("my notes")
    with pytest.raises(LibraryDamaged, match="not a Replybook library"):
        add(library, write(tmp_path / "a.pgn", Game()))
    assert library.read_text() == "my notes"


def test_a_folder_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "in-the-way").write_text("")
    with pytest.raises(LibraryError, match="--library"):
        add(tmp_path / "in-the-way" / "library", write(tmp_path / "a.pgn", Game()))


def test_too_little_memory_is_one_line_and_no_harm(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(library, write(tmp_path / "a.pgn", Game()))
    before = digest(library)
    file = tmp_path / "b.pgn"
    file.write_text(random_games(5, 200))
    monkeypatch.setattr(schema, "MEMORY_LIMIT", "1MB")
    with pytest.raises(LibraryError, match="memory"):
        add(library, file)
    monkeypatch.undo()
    assert digest(library) == before


def test_a_second_add_while_one_runs_is_refused(library: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "a.pgn", Game())
    refused = []

    def again(_: Progress) -> None:
        with pytest.raises(LibraryBusy) as error:
            add(library, file)
        refused.append(str(error.value))

    add_collection(library, [str(file)], "club", progress=again)
    assert len(refused) == 1
    assert ask(library, "SELECT count(*) FROM games") == [(1,)]


WATCHED = """
import sys
from pathlib import Path
library = Path(sys.argv[1])
opened = []
sys.addaudithook(lambda event, args: opened.append(args[0]) if event == "open" else None)
from ingest.pipeline import add_collection
from ingest.verify import verify
from ingest.removal import remove_collection
from ingest.digest import digest
add_collection(library, sys.argv[2:], "club")
verify(library), digest(library)
remove_collection(library, "club")
names = [str(name) for name in opened if isinstance(name, (str, Path))]
assert any(name.endswith(".lock") for name in names)
assert str(library) not in names, "opened beside DuckDB"
"""


def test_nothing_of_ours_opens_the_librarys_file(library: Path, tmp_path: Path) -> None:
    """Closing such a handle would drop DuckDB's lock on it."""
    file = write(tmp_path / "a.pgn", Game(), CUT)
    subprocess.run([sys.executable, "-c", WATCHED, str(library), str(file)], check=True)


KILLED = """
import os, sys
from pathlib import Path
from ingest import loader, pipeline, runs, settling, unpacking
pipeline.BLOCK_BYTES, unpacking.CHUNK_BYTES, loader.RUN_ROWS = 4000, 2000, 400
left = int(sys.argv[2])
def counted(module, name):
    inner = getattr(module, name)
    def outer(*args, **more):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), 9)
        return inner(*args, **more)
    setattr(module, name, outer)
for module, name in ((settling, "insert"), (settling, "give_way"), (settling, "join"),
                     (runs, "tidy"), (runs, "sum_positions"), (runs, "rewrite_library"),
                     (loader.FileLoader, "take"), (loader.FileLoader, "finish")):
    counted(module, name)
pipeline.add_collection(Path(sys.argv[1]), sys.argv[3:], "club")
print("whole")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9 there")
def test_a_kill_leaves_whole_files_and_the_same_add_again_completes_it(tmp_path: Path) -> None:
    files = [tmp_path / f"{n}.pgn" for n in range(3)]
    for n, file in enumerate(files):
        file.write_text(random_games(n, 25) + random_games(9, 10))
    states = []
    for n in range(4):
        library = tmp_path / f"state{n}"
        if n:
            add(library, *files[:n])
        else:
            schema.create(library)
        states.append(rows_of(library))
    undisturbed = digest(tmp_path / "state3")
    for moment in random.Random(1).sample(range(60), 6):
        library = tmp_path / f"killed{moment}"
        schema.create(library)
        subprocess.run(
            [sys.executable, "-c", KILLED, str(library), str(moment), *map(str, files)],
            check=False,
            capture_output=True,
        )
        assert rows_of(library) in states
        sound(library)
        add(library, *files)
        sound(library)
        assert digest(library) == undisturbed


def rows_of(library: Path) -> list[tuple[object, ...]]:
    """What a library holds, but for the summary that follows from it."""
    return ask(
        library,
        "SELECT (SELECT count(*) FROM files), (SELECT count(*) FROM games), "
        "(SELECT count(*) FROM visits), (SELECT sum(hash(key, move, ply)) FROM visits), "
        "(SELECT count(*) FROM records), (SELECT count(*) FROM rejects)",
    )


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0 or not os.path.exists("/bin/mount"),
    reason="needs the right to mount a small file system",
)
def test_a_full_disk_is_one_line_and_no_harm(tmp_path: Path) -> None:
    small = tmp_path / "small"
    small.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(small)],
        check=False,
        capture_output=True,
    )
    if mounted.returncode:
        pytest.skip("this system does not let us mount")
    try:
        library = small / "library"
        add(library, write(tmp_path / "a.pgn", Game()))
        before = digest(library)
        big = tmp_path / "b.pgn"
        big.write_text("".join(random_games(seed, 1000) for seed in range(3)))
        with pytest.raises(LibraryError, match="disk is full"):
            add(library, big)
        assert digest(library) == before
        sound(library)
    finally:
        subprocess.run(["umount", str(small)], check=True)
