"""Filters at the door: what comes in, what is left out, and that both are counted."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from ingest import door, reading, unpacking
from ingest.digest import digest
from ingest.door import Door, parse_sample
from ingest.errors import UsageError
from ingest.ledger import rejects
from ingest.levels import UNRATED, Level, parse_level
from ingest.pipeline import AddOptions, FileReport
from ingest.tags import Pace
from ingest.verify import verify
from tests.support.libraries import LONG, Game, add, ask, random_games, write

BAD = Game(moves="1. e5 e4", white="Fenn, Dario")
CUT = Game(moves=LONG + " Ke4", white="Quill, Edda")


@pytest.fixture
def library(tmp_path: Path) -> Path:
    return tmp_path / "games.library"


def add_through(library: Path, file: Path, *more: Path, **filters: object) -> FileReport:
    options = AddOptions(door=Door(**filters))  # type: ignore[arg-type]
    return add(library, file, *more, options=options).files[0]


def counts(report: FileReport) -> tuple[int, ...]:
    """Found, added, duplicates, rejected, left out, cut short."""
    return (
        *(report.found, report.added, report.duplicates),
        *(report.rejected, report.left_out, report.cut_short),
    )


def whites(library: Path) -> list[str]:
    rows = ask(library, "SELECT name FROM games JOIN players ON players.id = white_id ORDER BY 1")
    return [str(name) for (name,) in rows]


def test_both_players_must_be_of_the_level(library: Path, tmp_path: Path) -> None:
    games = [
        Game(white="Both", white_rating="800", black_rating="1199"),
        Game(white="One", white_rating="900", black_rating="1200"),
        Game(white="Other", white_rating="799", black_rating="900"),
        Game(white="Unrated", white_rating="900", black_rating="-"),
    ]
    level = parse_level("800-1199")
    report = add_through(library, write(tmp_path / "a.pgn", *games), level=level)
    assert counts(report) == (4, 1, 0, 0, 3, 0)
    assert whites(library) == ["Both"]
    assert ask(library, "SELECT options FROM files") == [("only-level=800-1199",)]
    assert verify(library).problems == ()


@pytest.mark.parametrize("text", ["800-1199", "under-800", "2000+", "0-900", "unrated"])
def test_a_level_holds_the_same_ratings_at_the_door_as_elsewhere(text: str) -> None:
    level = parse_level(text)
    ratings = np.arange(4001, dtype=np.uint16)
    holds = [level.holds(int(rating) or None) for rating in ratings]
    assert door._of_level(ratings, level).tolist() == holds


def test_a_pace_is_one_of_those_asked_for_as_tag_or_option_says(
    library: Path, tmp_path: Path
) -> None:
    controls = ("300", "900+10", "5400", "?")
    games = [Game(white=c, more=f'[TimeControl "{c}"]\n', round=c) for c in controls]
    file = write(tmp_path / "a.pgn", *games)
    asked = Door(paces=(Pace.RAPID, Pace.BLITZ))
    report = add(library, file, options=AddOptions(door=asked)).files[0]
    assert counts(report) == (4, 2, 0, 0, 2, 0)
    assert ask(library, "SELECT options FROM files") == [("only-pace=blitz,rapid",)]
    other = tmp_path / "other"
    add(other, file, options=AddOptions(pace=Pace.BLITZ, door=asked))
    assert ask(other, "SELECT time_control FROM games ORDER BY 1") == [
        ("300",),
        ("900+10",),
        (None,),
    ]


def test_a_sample_is_the_same_in_every_library_and_part_of_a_larger_one(tmp_path: Path) -> None:
    file = tmp_path / "a.pgn"
    file.write_text(random_games(1, 400))
    rounds = []
    for n, sample in enumerate((0.1, 0.3, 0.3, 1.0)):
        path = tmp_path / f"library{n}"
        report = add_through(path, file, sample=sample)
        assert report.found == 400
        assert report.left_out == 400 - report.added - report.duplicates
        rounds.append({r for (r,) in ask(path, "SELECT DISTINCT game_number FROM records")})
    assert rounds[0] < rounds[1] < rounds[3]
    assert rounds[1] == rounds[2]
    assert 25 < len(rounds[0]) < 55
    assert 95 < len(rounds[1]) < 145
    assert len(rounds[3]) == 400


def test_all_records_of_a_game_share_their_fate_in_a_sample(tmp_path: Path) -> None:
    """However the names are spelt and as far as the date is given; nameless games too."""
    games = [Game(white=f"Amber Vane {n}", date="2024.??.??") for n in range(40)]
    games += [Game(white="?", moves=f"{LONG} d5 7. {move}") for move in ("exd5", "Bxd5", "Bb5")]
    again = [replace(game, white=game.white.upper(), date="2024.05.06") for game in games]
    files = [write(tmp_path / "a.pgn", *games), write(tmp_path / "b.pgn", *again)]
    chosen = []
    for n, file in enumerate(files):
        add_through(tmp_path / f"library{n}", file, sample=0.5)
        numbers = ask(tmp_path / f"library{n}", "SELECT game_number FROM records ORDER BY 1")
        chosen.append([number for (number,) in numbers])
    assert chosen[0] == chosen[1]
    assert 0 < len(chosen[0]) < 43


def test_the_limit_takes_the_first_of_each_file_that_pass_the_rest(
    library: Path, tmp_path: Path
) -> None:
    """Duplicates count; what comes behind is left out unread."""
    strong = Game(white="Strong", white_rating="2000")
    games = [strong, Game(), BAD, Game(), CUT, strong, BAD, Game(white="Late"), CUT]
    files = [write(tmp_path / "a.pgn", *games), write(tmp_path / "b.pgn", Game(white="Late"))]
    report = add_through(library, *files, level=parse_level("800-1200"), limit=3)
    assert counts(report) == (9, 2, 1, 1, 5, 1)
    assert whites(library) == ["Late", "Quill, Edda", "Vane, Amber"]
    lines = [(line.game_number, line.kind) for line in rejects(library)]
    assert lines == [(3, "rejected"), (4, "duplicate"), (5, "cut short")]
    assert verify(library).problems == ()


def test_what_is_left_out_leaves_no_line_in_the_ledger(library: Path, tmp_path: Path) -> None:
    odd = Game(result="1/2-1/2", more='[Annotator "x"]\n', moves=LONG + " 1-0")
    cut = replace(CUT, white_rating="2000")
    report = add_through(library, write(tmp_path / "a.pgn", cut, odd), level=UNRATED)
    assert counts(report) == (2, 0, 0, 0, 2, 0)
    assert rejects(library) == []


def test_already_in_means_with_the_same_filters(library: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "a.pgn", Game(), Game(round="2", moves=LONG + " d5"))
    assert add_through(library, file, limit=1).left_out == 1
    assert add_through(library, file, limit=1).already_in
    report = add_through(library, file)
    assert (report.added, report.duplicates) == (1, 1)
    assert verify(library).problems == ()


def test_a_filter_never_takes_the_tags_that_another_reading_supplied(tmp_path: Path) -> None:
    """In either order of adding."""
    file = write(tmp_path / "a.pgn", Game(black_rating="-"))
    readings = (AddOptions(pace=Pace.RAPID), AddOptions(door=Door(sample=1.0)))
    for n, order in enumerate((readings, readings[::-1])):
        path = tmp_path / f"library{n}"
        for options in order:
            add(path, file, options=options)
        assert ask(path, "SELECT DISTINCT pace FROM visits") == [(Pace.RAPID,)]
    assert digest(tmp_path / "library0") == digest(tmp_path / "library1")


@pytest.mark.parametrize("filters", [{"sample": 0.0}, {"sample": 1.5}, {"limit": 0}])
def test_filters_out_of_range_are_refused(filters: dict[str, float]) -> None:
    with pytest.raises(UsageError, match=f"--{next(iter(filters))} "):
        Door(**filters)  # type: ignore[arg-type]


def test_a_sample_is_typed_as_a_fraction() -> None:
    assert parse_sample("0.1") == parse_sample("0,1") == 0.1
    for text in ("a tenth", "0", "-1", "10", "nan", ""):
        with pytest.raises(UsageError, match="--sample"):
            parse_sample(text)


GAME = st.builds(
    Game,
    white=st.sampled_from(["Vane, Amber", "Fenn, Dario", "?"]),
    moves=st.sampled_from([LONG, LONG + " Ke4", LONG + " d5", "1. e5", "1. e4"]),
    white_rating=st.sampled_from(["-", "900", "1500"]),
    more=st.sampled_from(["", '[TimeControl "300"]\n', '[TimeControl "900"]\n', "\x00"]),
)
DOOR = st.builds(
    Door,
    level=st.sampled_from([None, Level(800, 1199), UNRATED]),
    paces=st.sampled_from([(), (Pace.BLITZ,), (Pace.BLITZ, Pace.UNKNOWN)]),
    limit=st.sampled_from([None, 1, 2, 5]),
)
PHASES = (Phase.explicit, Phase.reuse, Phase.generate)  # to shrink would take minutes


def expected(games: list[Game], asked: Door) -> tuple[int, int, int]:
    """Taken, rejected and left out, one game after the other."""
    taken = rejected = left_out = 0
    for game in games:
        rating = None if game.white_rating == "-" else int(game.white_rating)
        pace = {"": Pace.UNKNOWN, '[TimeControl "300"]\n': Pace.BLITZ}.get(game.more, Pace.RAPID)
        if taken == asked.limit:
            left_out += 1
        elif game.moves == "1. e5" or game.more == "\x00":
            rejected += 1
        elif (asked.level and not (asked.level.holds(rating) and asked.level.holds(1000))) or (
            asked.paces and pace not in asked.paces
        ):
            left_out += 1
        else:
            taken += 1
    return taken, rejected, left_out


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck), phases=PHASES)
@given(games=st.lists(GAME, min_size=1, max_size=12), asked=DOOR, size=st.sampled_from([300, 4000]))
def test_found_is_always_added_duplicates_rejected_and_left_out(
    tmp_path_factory: pytest.TempPathFactory, games: list[Game], asked: Door, size: int
) -> None:
    """Whatever is asked for, and however the file is cut into steps."""
    folder = tmp_path_factory.mktemp("doors")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(reading, "BLOCK_BYTES", size)
        patched.setattr(unpacking, "CHUNK_BYTES", size // 2)
        report = add_through(
            folder / "library",
            write(folder / "a.pgn", *games),
            **{name: getattr(asked, name) for name in ("level", "paces", "limit")},
        )
    told = report.added + report.duplicates, report.rejected, report.left_out
    assert told == expected(games, asked)
    assert report.found == len(games) == sum(told)
    assert verify(folder / "library").problems == ()
