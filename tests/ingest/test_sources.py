"""Files, folders, archives and streams -> bytes, each trouble in one line."""

import bz2
import gzip
import hashlib
import io
import lzma
import os
import stat
import sys
import tarfile
import threading
import zipfile

import pyarrow as pa
import pytest

from ingest import unpacking
from ingest.errors import InputError, TruncatedInput
from ingest.sources import find_sources

GAME = b'[Event "Club evening"]\n[White "Ash, Ann"]\n[Black "Oak, Bo"]\n\n1. e4 e5 1-0\n\n'
# Long enough that a cut lies inside a packed block, and too varied to look like a bomb.
FILE = b"".join(
    GAME.replace(b"Ann", hashlib.sha256(b"%d" % i).hexdigest().encode()) for i in range(3000)
)
PACKERS = {
    "pgn": bytes,
    "pgn.gz": gzip.compress,
    "pgn.bz2": bz2.compress,
    "pgn.xz": lzma.compress,
    "pgn.zst": lambda data: pa.compress(data, "zstd", asbytes=True),
}
needs_rights = pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything"
)


def names(*paths) -> list[str]:
    return [source.name for source in find_sources([str(path) for path in paths])]


def read(path) -> bytes:
    return b"".join(chunk for source in find_sources([str(path)]) for chunk in source.chunks())


def zipped(path, **members: bytes):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return path


def one_line(error) -> str:
    text = str(error.value)
    assert "\n" not in text
    return text


@pytest.mark.parametrize("ending", PACKERS)
def test_a_packed_file_gives_the_bytes_that_were_packed(tmp_path, ending):
    path = tmp_path / f"season.{ending}"
    path.write_bytes(PACKERS[ending](FILE))
    (source,) = find_sources([str(path)])
    assert b"".join(source.chunks()) == FILE
    assert source.bytes_done == source.size == path.stat().st_size
    assert source.sha256() == hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize("ending", PACKERS)
def test_the_packing_is_told_by_the_bytes_and_not_by_the_name(tmp_path, ending):
    (tmp_path / "games.txt").write_bytes(PACKERS[ending](FILE))
    assert read(tmp_path / "games.txt") == FILE


@pytest.mark.parametrize("ending", [ending for ending in PACKERS if ending != "pgn"])
def test_packed_files_joined_end_to_end_are_read_whole(tmp_path, ending):
    path = tmp_path / f"two.{ending}"
    path.write_bytes(PACKERS[ending](FILE) + PACKERS[ending](GAME))
    assert read(path) == FILE + GAME


def test_a_zstd_file_may_open_with_a_frame_to_skip(tmp_path):
    """Skippable frames: RFC 8878, section 3.1.2."""
    path = tmp_path / "a.zst"
    path.write_bytes(b"\x51\x2a\x4d\x18\x04\0\0\0abcd" + PACKERS["pgn.zst"](FILE))
    assert read(path) == FILE


@pytest.mark.parametrize("ending", [ending for ending in PACKERS if ending != "pgn"])
def test_a_packed_file_that_is_cut_off_says_so(tmp_path, ending):
    path = tmp_path / f"cut.{ending}"
    packed = PACKERS[ending](FILE)
    path.write_bytes(packed[: len(packed) * 2 // 3])
    with pytest.raises(TruncatedInput) as error:
        read(path)
    assert "cut off before its end" in one_line(error)


@pytest.mark.parametrize("ending", ["pgn.gz", "pgn.bz2", "pgn.xz"])
def test_a_damaged_packed_file_says_so(tmp_path, ending):
    path = tmp_path / f"damaged.{ending}"
    packed = bytearray(PACKERS[ending](FILE))
    packed[len(packed) // 2 : len(packed) // 2 + 50] = b"\x55" * 50
    path.write_bytes(packed)
    with pytest.raises(InputError) as error:
        read(path)
    assert "damaged" in one_line(error)


def test_a_zip_archive_gives_its_pgn_members_in_order(tmp_path):
    path = zipped(tmp_path / "a.zip", **{"b.PGN": GAME, "a/c.pgn": FILE, "read.me": b"x"})
    first, second = find_sources([str(path)])
    assert (first.name, second.name) == (f"{path}/a/c.pgn", f"{path}/b.PGN")
    assert b"".join(first.chunks()) == FILE
    assert first.bytes_done == first.size
    assert second.sha256() == hashlib.sha256(GAME).hexdigest()


def test_a_zip_archive_without_pgn_says_so(tmp_path):
    path = zipped(tmp_path / "a.zip", **{"read.me": b"x"})
    with pytest.raises(InputError, match="no PGN file in this archive"):
        names(path)


@pytest.mark.parametrize("part", [0.3, 0.7, 0.999])
def test_a_zip_archive_that_is_cut_off_says_so_when_it_is_its_turn(tmp_path, part):
    """In the middle of its first member, of its second, or of the list at its end."""
    path = zipped(tmp_path / "a.zip", **{"a.pgn": FILE, "b.pgn": FILE})
    raw = path.read_bytes()
    path.write_bytes(raw[: int(len(raw) * part)])
    (source,) = find_sources([str(path)])
    for use in (source.sha256, lambda: list(source.chunks())):
        with pytest.raises(InputError, match="damaged"):
            use()


def test_a_damaged_member_of_a_zip_archive_says_so(tmp_path):
    path = zipped(tmp_path / "a.zip", **{"a.pgn": FILE})
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 2 : len(raw) // 2 + 50] = b"\x55" * 50
    path.write_bytes(raw)
    with pytest.raises(InputError, match="damaged"):
        read(path)


def test_a_locked_zip_member_says_so(tmp_path):
    path = zipped(tmp_path / "a.zip", **{"a.pgn": FILE})
    raw = path.read_bytes()
    # Bit 0 of the flags, 8 bytes into the central entry: encrypted (the ZIP format's own document).
    at = raw.rindex(b"PK\x01\x02") + 8
    path.write_bytes(raw[:at] + b"\x01" + raw[at + 1 :])
    with pytest.raises(InputError, match="locked with a password"):
        read(path)


def test_a_zip_archive_packed_in_another_way_says_so(tmp_path):
    """Method 9, which some programs choose (the ZIP format's own document, 4.4.5)."""
    path = zipped(tmp_path / "a.zip", **{"a.pgn": FILE})
    raw = bytearray(path.read_bytes())
    raw[8] = raw[raw.rindex(b"PK\x01\x02") + 10] = 9
    path.write_bytes(raw)
    with pytest.raises(InputError) as error:
        read(path)
    assert "packed in a way unknown here; unpack it" in one_line(error)


def test_a_zip_archive_with_a_damaged_name_in_it_says_so(tmp_path):
    path = zipped(tmp_path / "a.zip", **{"é.pgn": FILE})
    path.write_bytes(path.read_bytes().replace("é".encode(), b"\xc3("))
    with pytest.raises(InputError, match="damaged"):
        read(path)


def test_a_zip_archive_under_another_name_is_refused(tmp_path):
    zipped(tmp_path / "a.zip", **{"a.pgn": FILE}).rename(tmp_path / "a.pgn")
    with pytest.raises(InputError, match=r"without \.zip in its name"):
        read(tmp_path / "a.pgn")


def test_a_tar_archive_is_refused(tmp_path):
    path = tmp_path / "games.tar.gz"
    with tarfile.open(path, "w:gz") as archive:
        info = tarfile.TarInfo("a.pgn")
        info.size = len(GAME)
        archive.addfile(info, io.BytesIO(GAME))
    with pytest.raises(InputError, match="a tar archive; unpack it"):
        read(path)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"\n \n", "empty but for blanks"),
        (b"\xef\xbb\xbf", "empty but for blanks"),
        (gzip.compress(b"", mtime=0), "empty"),
        (bytes(range(256)) * 50, "a binary file, not PGN"),
        (b"\x89PNG\r\n\x1a\n" + bytes(5000), "a binary file, not PGN"),
        (b"Dear friends, the club meets again on Friday.", "a text without a game in it"),
    ],
)
def test_a_file_that_holds_no_games_says_what_it_is(tmp_path, data, said):
    (tmp_path / "a.pgn").write_bytes(data)
    with pytest.raises(InputError) as error:
        read(tmp_path / "a.pgn")
    assert said in one_line(error)


@pytest.mark.parametrize(
    "data",
    [
        b"1. e4 e5",
        b"e4 c5 Sf3",
        b"  O-O",
        b"%a line\n*\n",
        b"\0" * 4096 + GAME,
        GAME.decode().encode("utf-16"),
        GAME.decode().encode("utf-16-be"),
        b" " * (1 << 20) + GAME,
    ],
)
def test_anything_that_may_be_a_game_is_handed_on(tmp_path, data):
    (tmp_path / "a.pgn").write_bytes(data)
    assert read(tmp_path / "a.pgn") == data


def test_a_path_that_leads_nowhere_is_refused(tmp_path):
    with pytest.raises(InputError, match="no such file or folder"):
        names(tmp_path / "none.pgn")
    with pytest.raises(InputError, match="no such file or folder"):
        names(tmp_path / "*.pgn")


def test_a_file_that_vanishes_before_its_turn_says_so(tmp_path):
    (tmp_path / "a.pgn").write_bytes(GAME)
    (source,) = find_sources([str(tmp_path / "a.pgn")])
    (tmp_path / "a.pgn").unlink()
    with pytest.raises(InputError, match="no such file"):
        source.sha256()


def test_a_folder_is_walked_in_sorted_order_for_pgn_files(tmp_path):
    for name in ("b.pgn", "a.PGN", "z/c.pgn.gz", "m/d.pgn.zst", "m/x.pgn.xz", "n.txt", "m/n.gz"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(GAME)
    zipped(tmp_path / "e.zip", **{"f.pgn": GAME})
    zipped(tmp_path / "pictures.zip", **{"p.png": b""})
    found = [name.removeprefix(f"{tmp_path}{os.sep}") for name in names(tmp_path)]
    assert found == [
        "a.PGN",
        "b.pgn",
        "e.zip/f.pgn",
        os.path.join("m", "d.pgn.zst"),
        os.path.join("m", "x.pgn.xz"),
        os.path.join("z", "c.pgn.gz"),
    ]


def test_a_folder_without_pgn_is_refused(tmp_path):
    (tmp_path / "notes.txt").write_bytes(GAME)
    with pytest.raises(InputError, match="no PGN file in this folder"):
        names(tmp_path)


def test_patterns_are_expanded_where_the_shell_does_not(tmp_path):
    for name in ("b.pgn", "a.pgn", "[c].pgn", "d.txt"):
        (tmp_path / name).write_bytes(GAME)
    assert names(tmp_path / "?.pgn") == [str(tmp_path / "a.pgn"), str(tmp_path / "b.pgn")]
    assert names(tmp_path / "[c].pgn") == [str(tmp_path / "[c].pgn")]


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
class TestLinks:
    def test_a_loop_of_links_is_walked_once(self, tmp_path):
        (tmp_path / "in").mkdir()
        (tmp_path / "in" / "a.pgn").write_bytes(GAME)
        (tmp_path / "in" / "loop").symlink_to(tmp_path, target_is_directory=True)
        assert names(tmp_path) == [str(tmp_path / "in" / "a.pgn")]

    def test_a_linked_folder_is_read(self, tmp_path):
        (tmp_path / "far").mkdir()
        (tmp_path / "far" / "a.pgn").write_bytes(GAME)
        (tmp_path / "near").mkdir()
        (tmp_path / "near" / "link").symlink_to(tmp_path / "far", target_is_directory=True)
        assert names(tmp_path / "near") == [str(tmp_path / "near" / "link" / "a.pgn")]

    def test_a_link_that_leads_nowhere_says_so_when_it_is_its_turn(self, tmp_path):
        (tmp_path / "a.pgn").symlink_to(tmp_path / "none.pgn")
        (tmp_path / "b.pgn").write_bytes(GAME)
        broken, good = find_sources([str(tmp_path)])
        assert b"".join(good.chunks()) == GAME
        with pytest.raises(InputError, match="a link that leads nowhere"):
            list(broken.chunks())

    def test_a_pipe_is_read_like_standard_input(self, tmp_path):
        os.mkfifo(tmp_path / "pipe")
        writer = threading.Thread(target=(tmp_path / "pipe").write_bytes, args=[FILE])
        writer.start()
        (source,) = find_sources([str(tmp_path / "pipe")])
        assert source.sha256() == hashlib.sha256(FILE).hexdigest()
        assert b"".join(source.chunks()) == FILE
        writer.join()

    @needs_rights
    def test_what_may_not_be_read_says_so_and_the_rest_goes_on(self, tmp_path):
        (tmp_path / "shut").mkdir()
        for name in ("a.pgn", "b.pgn", "shut/c.pgn"):
            (tmp_path / name).write_bytes(GAME)
        (tmp_path / "a.pgn").chmod(0)
        (tmp_path / "shut").chmod(0)
        sources = find_sources([str(tmp_path)])
        (tmp_path / "shut").chmod(stat.S_IRWXU)
        assert [s.name for s in sources] == [str(tmp_path / n) for n in ("a.pgn", "b.pgn", "shut")]
        for source in (sources[0], sources[2]):
            with pytest.raises(InputError, match="may not be read"):
                list(source.chunks())


def test_each_refusal_of_the_system_is_put_in_our_words():
    for error, said in [
        (PermissionError(13, "Permission denied"), "may not be read"),
        (FileNotFoundError(2, "No such file"), "no such file"),
        (OSError(5, "Input/output error"), "cannot be read (Input/output error)"),
        (OSError(22, "Invalid argument"), "damaged"),
        (EOFError("early"), "cut off"),
    ]:
        with pytest.raises(InputError) as ours, unpacking.file_errors("a.pgn"):
            raise error
        assert said in one_line(ours)
        assert ours.value.__cause__ is error


def test_a_folder_that_may_not_be_entered_is_named(tmp_path, monkeypatch):
    (tmp_path / "a.pgn").write_bytes(GAME)
    walk = os.walk

    def refused(top, onerror, **options):
        onerror(PermissionError(13, "Permission denied", str(tmp_path / "shut")))
        return walk(top, **options)

    monkeypatch.setattr(os, "walk", refused)
    good, shut = find_sources([str(tmp_path)])
    assert b"".join(good.chunks()) == GAME
    with pytest.raises(InputError, match="shut: may not be read"):
        shut.sha256()


class TestStandardInput:
    @pytest.fixture(params=PACKERS)
    def packed(self, request, monkeypatch):
        data = PACKERS[request.param](FILE)
        stream = io.TextIOWrapper(io.BufferedReader(io.BytesIO(data)))
        monkeypatch.setattr(sys, "stdin", stream)
        return data

    def test_it_is_hashed_and_then_read(self, packed):
        (source,) = find_sources(["-"])
        assert source.size is None
        assert source.sha256() == hashlib.sha256(packed).hexdigest()
        assert b"".join(source.chunks()) == FILE
        assert source.bytes_done == len(packed)

    def test_it_can_be_read_without_a_hash(self, packed):
        assert read("-") == FILE


def test_chunks_are_small_whatever_the_file_unpacks_to(tmp_path):
    (tmp_path / "a.pgn.gz").write_bytes(gzip.compress(FILE * 20))
    (source,) = find_sources([str(tmp_path / "a.pgn.gz")])
    assert max(map(len, source.chunks())) <= unpacking.CHUNK_BYTES


@pytest.fixture(params=["pgn.gz", "zip"])
def bomb(tmp_path, monkeypatch, request):
    """A file that unpacks to a thousand times its size."""
    monkeypatch.setattr(unpacking, "RATIO_FROM", 1 << 20)
    path = tmp_path / f"bomb.{request.param}"
    data = GAME + b" " * (8 << 20)
    if request.param == "zip":
        return zipped(path, **{"a.pgn": data})
    path.write_bytes(gzip.compress(data))
    return path


def test_a_file_that_unpacks_to_far_more_than_its_size_is_refused(bomb):
    """The message says the ratio and the option that allows it."""
    with pytest.raises(InputError) as error:
        read(bomb)
    assert "unpacks to more than 200 times its size" in one_line(error)
    assert one_line(error).endswith("if you trust it, add --any-size")


def test_a_file_that_is_trusted_may_unpack_to_any_size(bomb):
    (source,) = find_sources([str(bomb)], any_size=True)
    assert sum(map(len, source.chunks())) == len(GAME) + (8 << 20)
    assert len(source.sha256()) == 64


def test_a_file_that_unpacks_beyond_the_limit_is_refused(tmp_path, monkeypatch):
    """A plain file of that size is not: it is read as it comes."""
    monkeypatch.setattr(unpacking, "UNPACK_LIMIT", 100_000)
    (tmp_path / "a.pgn.gz").write_bytes(gzip.compress(FILE))
    with pytest.raises(InputError, match="unpacks to more than"):
        read(tmp_path / "a.pgn.gz")
    (tmp_path / "a.pgn").write_bytes(FILE)
    assert read(tmp_path / "a.pgn") == FILE
