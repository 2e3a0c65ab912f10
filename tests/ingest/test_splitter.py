"""The splitter: every game once, whatever the cuts, whatever the damage."""

from __future__ import annotations

import io
import random

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
    @settings(max_examples=300, deadline=None)
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
@settings(max_examples=600, deadline=None)
@example(["1-0 e4", GAME])
def test_the_fast_look_agrees_with_the_walk(pieces):
    raw = "".join(pieces).encode()
    fast = everything([raw], 10**7, 10**6)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(splitter, "survey", all_walked)
        assert everything([raw], 10**7, 10**6) == fast
