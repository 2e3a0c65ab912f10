"""The whole way from PGN files into a library."""

from pathlib import Path

import pytest

from ingest import loader, locks
from ingest.digest import digest
from ingest.errors import InputError, UsageError
from ingest.ledger import rejects
from ingest.pipeline import AddOptions, Progress, add_collection
from ingest.tags import Pace
from tests.support.libraries import (
    BAD,
    CUT,
    LONG,
    SHORT,
    Game,
    add,
    ask,
    random_games,
    small_steps,
    sound,
    write,
)


@pytest.fixture
def library(tmp_path: Path) -> Path:
    return tmp_path / "games.library"


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
