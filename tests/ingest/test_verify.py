"""What `verify` finds, and what it leaves alone."""

from pathlib import Path

import pytest

from ingest import schema
from ingest.errors import LibraryMissing
from ingest.verify import verify
from tests.support.libraries import LONG, Game, add, change, random_games, write


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("sample")
    file = folder / "a.pgn"
    mate = Game(moves="1. f3 e5 2. g4 Qh4#", result="0-1")
    stalemate = Game(
        moves="1. e3 a5 2. Qh5 Ra6 3. Qxa5 h5 4. h4 Rah6 5. Qxc7 f6 6. Qxd7+ Kf7 7. Qxb7 Qd3 "
        "8. Qxb8 Qh7 9. Qxc8 Kg6 10. Qe6",
        result="1/2-1/2",
    )
    queen = Game(
        moves="1... a1=Q+ 2. Kd2 Qb2+",
        more='[FEN "4k3/8/8/8/8/8/p7/4K3 b - - 0 1"]\n[SetUp "1"]\n',
    )
    back = Game(moves="1. Nf3 Nf6 2. Ng1 Ng8 3. e4")
    cut = Game(moves="1. e4 e5 2. Ke3", white="Quill, Edda")
    reject = Game(moves="1. e5")
    games = (mate, stalemate, queen, back, cut, reject)
    file.write_text(random_games(1, 60) + "".join(game.pgn for game in games))
    add(folder / "library", file)
    return (folder / "library").read_bytes()


@pytest.fixture
def library(sample: bytes, tmp_path: Path) -> Path:
    path = tmp_path / "library"
    path.write_bytes(sample)
    return path


def test_a_sound_library_has_no_problems(library: Path) -> None:
    """With mates, stalemates, promotions, returns, cut games and starts of their own."""
    report = verify(library)
    assert report.problems == ()
    assert report.games == report.replayed == 65
    assert report.visits > 65
    assert report.twins_in_all == 0


def test_an_empty_library_is_sound(tmp_path: Path) -> None:
    schema.create(tmp_path / "library")
    assert verify(tmp_path / "library").problems == ()


def test_a_missing_library_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(LibraryMissing):
        verify(tmp_path / "library")


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        ("UPDATE files SET found = found + 1", "counts do not add up"),
        ("UPDATE files SET found = found + 1, added = added + 1", "records are not all there"),
        ("DELETE FROM rejects WHERE kind = 'rejected'", "rejected games are not all named"),
        ("INSERT INTO memberships SELECT * FROM memberships LIMIT 1", "without a record, or twice"),
        ("DELETE FROM memberships WHERE game_id = 1", "records without a membership"),
        ("DELETE FROM memberships WHERE game_id = 1", "games in no collection"),
        ("DELETE FROM visits WHERE game_id = 1", "games without visits"),
        ("UPDATE games SET plies = 0 WHERE id = 1", "more visits than positions"),
        ("UPDATE visits SET ply = 50 WHERE game_id = 1 AND ply = 0", "beyond the library's plies"),
        ("UPDATE visits SET pace = 4 WHERE game_id = 1", "differ from their game"),
        ("UPDATE visits SET mover_rating = 9 WHERE game_id = 1", "differ from their game"),
        ("UPDATE runs SET rows = rows - 1", "not as long or wide"),
        ("UPDATE runs SET last_key = last_key - 1", "not as long or wide"),
        ("INSERT INTO runs VALUES (9, 1, 1, 1, true)", "not as long or wide"),
        ("UPDATE visits SET key = 1 WHERE game_id = 1 AND ply = 0", "out of order"),
        ("UPDATE visits SET run = 2 WHERE game_id = 1", "out of order"),
        ("UPDATE positions SET games = games + 1", "positions miscounted"),
        ("DELETE FROM positions", "positions miscounted"),
        ("UPDATE games SET white_id = 999 WHERE id = 1", "games whose white_id"),
        ("UPDATE visits SET mover_id = 999 WHERE game_id = 1", "visits whose mover_id"),
        ("UPDATE memberships SET file_id = 999 WHERE game_id = 1", "memberships whose file_id"),
        ("UPDATE rejects SET file_id = 999", "rejects whose file_id"),
        ("UPDATE games SET id = 2 WHERE id = 1", "games with a number that another has"),
        (
            "UPDATE visits SET piece = 1 WHERE game_id = 1 AND ply = 0",
            "not those of their mainline",
        ),
        ("UPDATE games SET mainline = [1::USMALLINT] WHERE id = 1", "not those of their mainline"),
        ("DELETE FROM visits WHERE game_id = 1 AND ply = 1", "not those of their mainline"),
    ],
)
def test_damage_is_found(library: Path, damage: str, words: str) -> None:
    change(library, damage)
    assert any(words in problem for problem in verify(library).problems)


def test_two_games_of_which_one_begins_the_other_are_listed_as_twins(tmp_path: Path) -> None:
    """Same players and date; shown as a hint, which is no problem."""
    twin = Game(moves=LONG + " Bb4+", white="VANE, AMBER", date="2024.05.??")
    others = (Game(date="2024.05.07"), Game(white="Fenn, Dario", moves=LONG + " Bb4+"))
    add(tmp_path / "library", write(tmp_path / "a.pgn", Game(), twin, *others))
    report = verify(tmp_path / "library")
    assert report.problems == ()
    assert report.twins_in_all == 2  # the vague date agrees with both days
    assert {(one.plies, one.other_plies) for one in report.twins} == {(11, 12)}
    assert report.twins[0].white == "Vane, Amber"
    assert report.twins[0].date == "2024.5"
