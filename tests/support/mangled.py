"""Files that went wrong: real shapes of PGN, then damage of every kind, by a seed.

The same seed gives the same bytes, so that a failure can be had again.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random

from ingest.letters import ENGLISH, LETTERS
from tests.support.game_texts import STARTS, play, write

ODD = Path(__file__).parents[1] / "odd_pgns"
POOL = 120
LONGEST = 60_000  # bytes of a case, about

WORDS = (
    *'{}()[];%$!?.*"\\=<>-/ \n\t\r\0',
    *("\n\n", "\r\n", " \n \n", "\n%", "\n;", "{}", "()", "{ ", " }", "( ", " )", "; a word\n"),
    *("1-0", " 0-1 ", "1/2-1/2", "½-½", "1/2", "½", " * ", "1-O", "0–1", "1-0{", "}1-0", "(1-0)"),
    *("e4", "Nf3", "O-O", "0-0-0", "o-o", "e.p.", "ep", "--", "Z0", "0000", "@@@@", "a8=Q", "a8Q"),
    *("a8(R)", "e4(N)", "e2e4", "e2-e4", "Ng1f3", "exd6e.p.", "N", "D", "+-", "=", "$1", "\\$3"),
    *("Sf3", "Cf3", "Pf3", "♘f3", "Rd1", "Dd4", "Be2", "1.", "1...", " 1 ", "12.", "999999999999."),
    *('[Event "x"]\n', '\n[Event "x"]\n[Site "y"]\n\n', '[White ""]', '[Round "1', "[a", "[Event"),
    *('[FEN "8/8/8/8/8/8/8/K6k w - - 0 1"]\n', '[FEN "x"]\n', '[fen ""]\n', '[SetUp "1"]\n'),
    *('[Variant "Chess960"]\n', '[Result "0-1"]\n', '[Result "½-½"]\n', '[Date "2024.13.45"]\n'),
    *('[WhiteElo "99999"]\n', '[TimeControl "40/0:1"]\n', '[White "a\\"b\\\\"]\n', "<br>", "<"),
    *("é", "€", "\ufeff", "\ufffd", "\u2028", "\x85", "\x1a", "\x0c", "𝕏", "ß", "İ", "ǆ", "١"),
)


@cache
def _pool() -> tuple[bytes, ...]:
    """Games of every style and language, and the odd files."""
    random = Random(1)
    games = []
    for number in range(POOL):
        start = None if random.random() < 0.7 else random.choice(STARTS)
        board = play(random, random.randrange(60), start)
        text = write(random, board, plain=random.random() < 0.5)
        if number % 4 == 0:
            _, letters = random.choice(list(LETTERS.values()))
            head, _, moves = text.partition("\n\n")
            moves = moves.translate(str.maketrans(ENGLISH, letters))
            text = f"{head}\n\n{moves}".replace(f"{letters[0]}-{letters[0]}", "O-O")
        games.append(text.encode())
    return (*games, *(path.read_bytes() for path in sorted(ODD.glob("*.pgn"))))


def mangled(random: Random) -> bytes:
    """A file of a few games, damaged or not."""
    gap = random.choice((b"", b"\n", b"\n\n", b" ", b"\r\n\r\n"))
    raw = gap.join(random.choice(_pool()) for _ in range(random.randrange(1, 7)))
    for _ in range(random.choice((0, 1, 1, 2, 3, 5, 9, 20))):
        raw = random.choice(_WAYS)(random, raw)[:LONGEST]
    if random.random() < 0.15:
        raw = _other_encoding(random, raw)
    if random.random() < 0.1:
        raw = raw[: random.randrange(len(raw) + 1)]
    return raw


def damaged(random: Random, packed: bytes) -> bytes:
    """A packed file with a few bytes changed, lost, or its end cut off."""
    for _ in range(random.randrange(1, 4)):
        packed = random.choice((_flip, _flip, _lose, _cut))(random, packed)
    return packed


def _other_encoding(random: Random, raw: bytes) -> bytes:
    codec = random.choice(("utf-16", "utf-16-le", "utf-16-be", "latin-1", "cp1252", "utf-8-sig"))
    return raw.decode("utf-8", "replace").encode(codec, "replace")


def _span(random: Random, raw: bytes) -> tuple[int, int]:
    start = random.randrange(len(raw) + 1)
    return start, start + min(int(random.expovariate(1 / 30)), len(raw) - start)


def _word(random: Random) -> bytes:
    return random.choice(WORDS).encode()


def _flip(random: Random, raw: bytes) -> bytes:
    at = random.randrange(len(raw) + 1)
    return raw[:at] + bytes([random.randrange(256)]) + raw[at + 1 :]


def _lose(random: Random, raw: bytes) -> bytes:
    start, end = _span(random, raw)
    return raw[:start] + raw[end:]


def _cut(random: Random, raw: bytes) -> bytes:
    return raw[: random.randrange(len(raw) + 1)]


def _insert(random: Random, raw: bytes) -> bytes:
    at = random.randrange(len(raw) + 1)
    return raw[:at] + _word(random) + raw[at:]


def _replace(random: Random, raw: bytes) -> bytes:
    start, end = _span(random, raw)
    return raw[:start] + _word(random) + raw[end:]


def _at_a_seam(random: Random, raw: bytes) -> bytes:
    """Something put in, or lost, where a line ends."""
    seams = [at for at, byte in enumerate(raw) if byte == 10] or [0]
    at = random.choice(seams)
    return raw[:at] + _word(random) + raw[at + random.randrange(3) :]


def _twice(random: Random, raw: bytes) -> bytes:
    start, end = _span(random, raw)
    return raw[:end] + raw[start:]


def _many_times(random: Random, raw: bytes) -> bytes:
    at, word = random.randrange(len(raw) + 1), _word(random) + random.choice((b"", _word(random)))
    return raw[:at] + word * int(10 ** random.uniform(0.3, 3.5)) + raw[at:]


def _moved(random: Random, raw: bytes) -> bytes:
    start, end = _span(random, raw)
    rest = raw[:start] + raw[end:]
    at = random.randrange(len(rest) + 1)
    return rest[:at] + raw[start:end] + rest[at:]


def _everywhere(random: Random, raw: bytes) -> bytes:
    """One kind of character becomes another in the whole file."""
    return raw.replace(random.choice((b"\n", b" ", b'"', b".", b"]", b"\n\n")), _word(random))


def _glued(random: Random, raw: bytes) -> bytes:
    at = random.randrange(len(raw) + 1)
    return raw[:at] + random.choice(_pool()) + raw[at:]


_WAYS: tuple[Callable[[Random, bytes], bytes], ...] = (
    _flip,
    _lose,
    _insert,
    _insert,
    _insert,
    _replace,
    _replace,
    _at_a_seam,
    _at_a_seam,
    _twice,
    _many_times,
    _moved,
    _everywhere,
    _glued,
)
