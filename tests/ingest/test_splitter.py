"""The splitter: every game once, whatever the cuts, whatever the damage."""

from __future__ import annotations

import io
import itertools
import random
import re
from pathlib import Path

import chess
import chess.pgn
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ingest import gamescan, splitter
from ingest.splitter import Block, split
from ingest.survey import Survey

TAGS = '[Event "Club evening"]\n[White "Ash, Ann"]\n[Black "Oak, Bo"]\n[Result "1-0"]\n'
GAME = TAGS + "\n1. e4 e5 2. Nf3 Nc6 1-0\n\n"
OTHER = TAGS.replace("Club evening", "Final") + "\n1. d4 d5 0-1\n\n"


def blocks(text: str | bytes, **limits: int) -> list[Block]:
    raw = text.encode() if isinstance(text, str) else text
    return list(split([raw], **limits))


def texts(text: str | bytes, **limits: int) -> list[str]:
    return [
        block.text[start:end].decode()
        for block in blocks(text, **limits)
        for start, end in zip(block.starts, block.ends, strict=True)
    ]


def careful(text: str) -> list[bool]:
    return [bool(flag) for block in blocks(text) for flag in block.careful]


def everything(chunks: list[bytes], block_bytes: int, max_game_bytes: int) -> list[object]:
    """All that is said of each game."""
    found: list[object] = []
    for block in split(chunks, block_bytes=block_bytes, max_game_bytes=max_game_bytes):
        block.text.decode()
        for i, (start, end) in enumerate(zip(block.starts, block.ends, strict=True)):
            game = block.text[start:end].decode()
            number = block.first_number + i
            found.append((number, block.lines[i], game, block.careful[i], block.faults.get(i)))
    return found


def random_game(rng: random.Random) -> chess.pgn.Game:
    game = chess.pgn.Game()
    game.headers["White"] = rng.choice(["Ash, Ann", "Öhman, Åsa", 'The "Rook"'.replace('"', "'")])
    game.headers["Result"] = rng.choice(["1-0", "0-1", "1/2-1/2", "*"])
    node: chess.pgn.GameNode = game
    for _ in range(rng.randrange(40)):
        moves = list(node.board().legal_moves)
        if not moves:
            break
        node = node.add_main_variation(rng.choice(moves))
        if rng.random() < 0.2:
            node.comment = rng.choice(["[%clk 0:01:00]", "good; or bad", "1-0 was near", "(sic)"])
        if rng.random() < 0.1 and (others := list(node.parent.board().legal_moves)):
            node.parent.add_variation(rng.choice(others), comment="rather")
    return game


@given(st.integers(0, 2**32), st.sampled_from([60, 80, None]), st.sampled_from(["\n", "\r\n"]))
@settings(max_examples=40, deadline=None)
def test_a_clean_file_gives_the_games_that_python_chess_reads(seed, columns, line_end):
    """Checked against python-chess, game by game: tags, moves and variations."""
    rng = random.Random(seed)
    games = [random_game(rng) for _ in range(rng.randrange(1, 12))]
    file = "\n\n".join(
        game.accept(chess.pgn.StringExporter(columns=columns)) for game in games
    ).replace("\n", line_end)
    reader = io.StringIO(file.replace("\r\n", "\n"))
    found = texts(file)
    assert len(found) == len(games)
    for text in found:
        read, expected = chess.pgn.read_game(io.StringIO(text)), chess.pgn.read_game(reader)
        assert str(read) == str(expected)


FRAGMENTS = [
    GAME,
    OTHER,
    GAME.replace(" 1-0", ""),
    TAGS,
    "\n",
    "\n\n",
    " ",
    "\r",
    "\r\n",
    "\t",
    "1. e4 e5 ",
    "2. Nf3 ",
    "1-0",
    " * ",
    "0-1\n",
    "1/2-1/2 ",
    "½-½ ",
    "O-O ",
    "0-0 ",
    "{",
    "}",
    "{a comment} ",
    "{1-0 [A \"b\"] ; %}",
    "{\n[Round \"1\"]\n}",
    "; a remark { [Event \"x\"]\n",
    ";",
    "%escaped {\n",
    "%",
    "(1. d4 ",
    ")",
    "$1 ",
    "! ",
    "-",
    "1. c4 ",
    "1... c5 ",
    "\n\n1. g3 ",
    '[Event "In line"] ',
    '  [Site "Indented"]\n',
    '[Site "He said \\"no\\""]\n',
    '[Site "He said "no""]\n',
    '[Site "Odd \\"]\n',
    "[Site broken\n",
    '[White Elo "1500"]\n',
    '[Event\n"split"]\n',
    '[ Event "spaced" ]\n',
    "[",
    "]",
    '"',
    "\\",
    "<br>",
    "<",
    "\0",
    "é€",
    "\ufeff",
    "junk ",
]  # fmt: skip
PIECES = st.lists(
    st.one_of(st.sampled_from(FRAGMENTS), st.sampled_from([GAME, OTHER])), max_size=25
)


@pytest.fixture
def near(monkeypatch):
    """Decisions look less far ahead, so that short texts show the effect of cuts."""
    monkeypatch.setattr(splitter, "LOOKAHEAD", 400)
    monkeypatch.setattr(gamescan, "LOOKAHEAD", 400)


@pytest.mark.usefixtures("near")
class TestCuts:
    @given(PIECES, st.integers(1, 900), st.integers(1, 2000), st.sampled_from([500, 10**6]))
    @settings(max_examples=150, deadline=None)
    @pytest.mark.filterwarnings("ignore")
    def test_the_cuts_change_nothing(self, pieces, chunk, block_bytes, longest):
        raw = "".join(pieces).encode()
        whole = everything([raw], 10**7, longest)
        cut = [raw[i : i + chunk] for i in range(0, len(raw), chunk)]
        assert everything(cut, block_bytes, longest) == whole


def all_walked(text: bytes, longest: int, survey=splitter.survey) -> Survey:
    found = survey(text, longest)
    return Survey(found.starts, found.ends, np.arange(len(found.starts)), found.newlines)


@given(PIECES)
@settings(max_examples=300, deadline=None)
@example(["1-0 e4", GAME])
@example([TAGS.replace("Club", "x" * 1100), GAME])
def test_the_fast_look_agrees_with_the_walk(pieces):
    raw = "".join(pieces).encode()
    fast = everything([raw], 10**7, 10**6)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(splitter, "survey", all_walked)
        assert everything([raw], 10**7, 10**6) == fast


def test_a_bracketed_line_in_a_comment_is_no_tag():
    game = TAGS + "\n1. e4 {see\n[Event of the year]\nthere} e5 1-0\n\n"
    assert texts(game + OTHER) == [game.strip(), OTHER.strip()]


@pytest.mark.parametrize("tags", ['[Event "Next"]\n', '[White "A"]\n[Black "B"]\n'])
def test_an_unclosed_comment_costs_one_game(tags):
    damaged = TAGS + "\n1. e4 {never closed\n\n"
    following = tags + "\n1. c4 *\n\n"
    file = damaged + following + OTHER
    assert texts(file) == [damaged.strip(), following.strip(), OTHER.strip()]
    assert careful(file) == [True, False, False]


def test_an_unclosed_variation_costs_no_other_game():
    damaged = TAGS + "\n1. e4 (1. d4 d5 1-0\n\n"
    assert texts(damaged + OTHER) == [damaged.strip(), OTHER.strip()]


def test_a_blank_line_within_the_moves_makes_no_second_game():
    game = TAGS + "\n1. e4 e5\n\n2. Nf3 Nc6 1-0\n\n"
    assert texts(game + OTHER) == [game.strip(), OTHER.strip()]
    assert careful(game + OTHER) == [True, False]


def test_no_blank_line_is_needed_before_the_next_tags():
    assert texts(GAME.rstrip() + "\n" + OTHER) == [GAME.strip(), OTHER.strip()]


def test_blank_lines_between_tags_part_no_game():
    game = '[Event "A"]\n\n[White "B"]\n\n1. e4 *'
    assert texts(game + "\n\n" + OTHER) == [game, OTHER.strip()]


def test_games_of_tags_alone_are_told_apart_by_the_event_tag():
    assert texts(TAGS + "\n" + TAGS) == [TAGS.strip()] * 2


@pytest.mark.parametrize("remark", ["{of the club}", "; of the club"])
def test_a_remark_between_tags_and_moves_parts_nothing(remark):
    game = TAGS + remark + "\n\n1. e4 e5 1-0"
    assert texts(game) == [game]


def test_several_tags_on_a_line_are_one_section_read_with_care():
    game = '[Event "A"] [White "B"]\n[Black "C"]\n\n1. e4 *'
    assert texts(game) == [game]
    assert careful(game) == [True]


def test_tags_in_the_middle_of_a_line_begin_a_game():
    assert texts('1. e4 e5 1-0 [Event "B"]\n[White "C"]\n\n1. d4 *') == [
        "1. e4 e5 1-0",
        '[Event "B"]\n[White "C"]\n\n1. d4 *',
    ]


def test_a_whole_file_on_one_line_is_parted_into_games():
    line = "".join([GAME, OTHER] * 500).replace("\n", " ")
    assert len(texts(line, block_bytes=9_000)) == 1000


@pytest.mark.parametrize("between", [" ", "\n", "\n\n", "\n{good} ; fine\n\n", " $1 "])
def test_games_without_tags_part_at_the_result(between):
    numbered = texts(f"1. e4 e5 1-0{between}1. d4 d5 0-1{between}e4 c5 *")
    parts = 3 if "$" not in between else 1
    assert len(numbered) == parts


def test_moves_that_begin_again_behind_a_blank_line_are_a_game_of_their_own():
    assert texts("1. e4 e5\n\n1. d4 d5\n\n1... c5") == ["1. e4 e5", "1. d4 d5\n\n1... c5"]


def test_a_result_inside_a_variation_or_comment_parts_nothing():
    game = "1. e4 (1. d4 d5 1-0) e5 {1-0 1. c4} 2. Nf3 *"
    assert texts(game) == [game]


def test_text_around_the_games_is_kept_but_comments_alone_are_no_game():
    assert texts("{a preface}\n; by the club\n%escape\n\n" + GAME + "{the end}\n") == [
        GAME.strip() + "\n\n{the end}"
    ]
    assert texts("A letter to you\n\n" + GAME) == ["A letter to you", GAME.strip()]


@pytest.mark.parametrize(
    "line",
    [
        "; a remark {",
        "%an escaped line [Event",
        "{a {nested} remark",
        "2. d4 [a remark]",
        "} 2. d4",
        "<reserved>",
    ],
)
def test_what_the_fast_reader_misreads_is_marked(line):
    game = TAGS + f"\n1. e4 e5\n{line}\n2. Nf3 1-0\n\n"
    assert careful(game)[0]


@pytest.mark.parametrize(
    "tag",
    [
        '[Site "He said \\"no\\""]',
        '[Site "He said "no""]',
        '[Site "Odd \\"]',
        "[Site broken",
        '[White Elo "1500"]',
        '  [Site "indented"]',
        '[Event\n"parted"]',
    ],
)
def test_odd_tags_are_marked_and_part_no_game(tag):
    game = '[Event "A"]\n' + tag + '\n[White "B"]\n\n1. e4 *'
    assert texts(game) == [game]
    assert careful(game) == [True]


def test_ordinary_notation_is_left_to_the_fast_reader():
    game = TAGS.replace("evening", "{[;evening") + (
        "\n1. e4! {good; [%clk 0:01:00] (or)\n\n%bad} e5 $2 (1... c5 {x} (1... e6)) 2. Nf3 1-0\n"
    )
    assert careful(game) == [False]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_numbers_are_those_of_the_file(end):
    file = ("\n" + GAME + "\n\n" + OTHER + TAGS).replace("\n", end).encode()
    found = np.concatenate([b.lines for b in split([file], block_bytes=1)])
    assert found.tolist() == [2, 11, 18]


def test_game_numbers_run_through_the_blocks():
    numbers = [
        (block.first_number, len(block.starts))
        for block in split([GAME.encode() * 200] * 20, block_bytes=20_000)
    ]
    assert len(numbers) > 3
    assert all(a + n == b for (a, n), (b, _) in itertools.pairwise(numbers))
    assert sum(n for _, n in numbers) == 4000


def test_blocks_say_how_far_the_file_is_read():
    chunks = [GAME.encode() * 200] * 3
    assert [b.bytes_done for b in split(chunks)][-1] == sum(map(len, chunks))


@pytest.mark.parametrize(
    ("codec", "said"),
    [
        ("utf-8", "UTF-8"),
        ("utf-8-sig", "UTF-8 with byte-order mark"),
        ("utf-16", "UTF-16"),
        ("utf-16-le", "UTF-16"),
        ("utf-16-be", "UTF-16"),
        ("cp1252", "Windows-1252"),
    ],
)
def test_each_encoding_is_read_and_named(codec, said):
    game = GAME.replace("Ash, Ann", "Özgür, Zoë")
    (block,) = blocks(game.encode(codec))
    assert block.text[block.starts[0] : block.ends[0]].decode() == game.strip()
    assert block.encoding == said


def test_one_damaged_byte_spoils_no_other_name():
    game = GAME.replace("Ash, Ann", "Zoë").encode()
    (block,) = blocks(game + game.replace("ë".encode(), b"\xeb\x81") + game)
    assert block.encoding == "UTF-8 and Windows-1252"
    names = [
        block.text[a:b].decode().split('"')[3]
        for a, b in zip(block.starts, block.ends, strict=True)
    ]
    assert names == ["Zoë", "Zoë\x81", "Zoë"]


@pytest.mark.parametrize("codec", ["ascii", "utf-8", "latin-1"])
def test_a_file_cut_in_the_middle_of_a_character_is_read(codec):
    before = "Zoe" if codec == "ascii" else "Zoë"
    (block,) = blocks(GAME.encode() + b"{" + before.encode(codec) + "é".encode()[:1])
    assert block.text.decode()[-1] == ("Ã" if codec == "latin-1" else "\N{REPLACEMENT CHARACTER}")


def test_byte_order_marks_of_glued_files_vanish():
    assert texts(("\ufeff" + GAME) * 2) == [GAME.strip()] * 2
    assert careful(("\ufeff" + GAME) * 2) == [False, False]


@pytest.mark.parametrize("size", [1, 2, 100])
def test_a_byte_order_mark_inside_a_character_joins_nothing(size):
    """Its halves are no UTF-8, however the file is cut."""
    raw = b"e4 {\xc2\xef\xbb\xbf\xbd} *"
    (block,) = split([raw[i : i + size] for i in range(0, len(raw), size)])
    assert block.text.strip().decode() == "e4 {Â½} *"
    assert block.encoding == "Windows-1252"


def test_nul_bytes_inside_a_game_reject_it_and_only_it():
    (block,) = blocks(GAME + GAME.replace("e5", "e\0") + "\0\0\0" + OTHER)
    assert len(block.starts) == 3
    assert list(block.faults) == [1]
    assert "NUL" in block.faults[1]


@pytest.mark.parametrize("glue", ["\x1a", "\n\x1a\n", "\0\x1a"])
def test_the_control_character_that_ends_an_old_file_is_no_game(glue):
    """Also where such files were glued together."""
    assert texts(GAME + glue + OTHER + glue) == [GAME.strip(), OTHER.strip()]
    assert texts(glue + GAME) == [GAME.strip()]


@pytest.mark.parametrize("longest", range(len(GAME) - 4, len(GAME) + 5))
@pytest.mark.usefixtures("near")
def test_the_longest_game_is_the_same_whatever_the_cuts(longest):
    file = (GAME + OTHER).encode() * 2
    whole = everything([file], 10**7, longest)
    assert (whole[0][-1] is None) == (longest >= len(GAME))
    for size in (1, 50, len(file)):
        cut = [file[i : i + size] for i in range(0, len(file), size)]
        assert everything(cut, 1, longest) == whole


def test_a_game_that_is_too_long_is_rejected_and_passed_over():
    long = TAGS + "\n1. e4 {" + "long [Event talk é " * 3000 + "} e5 1-0\n\n"
    file = (GAME + long + OTHER).encode()
    for size in (7, 1000, 10**6):
        chunks = [file[i : i + size] for i in range(0, len(file), size)]
        found = everything(chunks, size, 10_000)
        assert [text for _, _, text, _, fault in found if not fault] == [
            GAME.strip(),
            OTHER.strip(),
        ]
        (fault,) = [fault for *_, fault in found if fault]
        assert "10,000 bytes" in str(fault)
        assert found[2][:2] == (3, 15)


def test_ten_megabytes_on_one_line_are_never_held_at_once():
    """Held at most: one block, one chunk and the longest game."""
    held = []

    def chunks():
        yield GAME.encode()
        for _ in range(10 * 16):
            yield b"x" * (1 << 16)
            held.append(max(sum(map(len, text.parts)) for text in watched))
        yield b"\n\n" + OTHER.encode()

    watched = []
    original = splitter._Text

    class Watched(original):  # type: ignore[valid-type, misc]
        def __init__(self, longest):
            super().__init__(longest)
            watched.append(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(splitter, "_Text", Watched)
        found = list(split(chunks(), block_bytes=1 << 18, max_game_bytes=1 << 20))
    assert sum(len(block.starts) for block in found) == 2
    assert max(held) < 2 << 20


@pytest.mark.parametrize("unit", ["%\n", "[a\n", "{", "1-0 ", "\n\n1", '[A "b"]\n', "("])
def test_no_repetition_stops_the_reading(unit):
    """Also where the longest game ends in the middle of it."""
    assert blocks(unit * 3000 + "\n\n" + GAME, max_game_bytes=999)


@pytest.mark.parametrize("file", ["", "\n \n", "\ufeff", "{only a comment}\n", "%\n"])
def test_a_file_without_a_game_gives_no_block(file):
    assert blocks(file) == []


ODD = Path(__file__).parents[1] / "odd_pgns"
TABLE = dict(re.findall(r"^\| `(\S+)` \|.*\| (\d+) \|$", (ODD / "README.md").read_text(), re.M))


def test_the_table_of_odd_files_is_complete():
    assert set(TABLE) == {path.name for path in ODD.glob("*.pgn")}


@pytest.mark.parametrize("name", sorted(TABLE))
def test_an_odd_file_holds_as_many_games_as_its_table_says(name):
    raw = (ODD / name).read_bytes()
    found = texts(raw)
    assert len(found) == int(TABLE[name])
    if "Last game" in raw.decode("utf-16" if "utf16" in name else "latin-1"):
        assert found[-1].startswith('[Event "Last game"]')
        assert found[-1].endswith("1. f3 e5 2. g4 Qh4# 0-1")
