"""Small programs that speak UCI, or not, in place of a chess engine."""

from __future__ import annotations

import sys
from pathlib import Path

# Answers each search from a table by side to move; ``trouble`` makes it fail at its first search.
PROGRAM = """#!{python}
import sys, time
trouble = {trouble!r}
if trouble == "silent":
    time.sleep(60)
turn = "w"
for line in sys.stdin:
    words = line.split()
    if not words:
        continue
    if words[0] == "uci":
        print("id name Lantern Toy\\noption name Threads type spin default 4 min 1 max 8")
        print("option name Hash type spin default 16 min 1 max 64\\nuciok")
    elif words[0] == "isready":
        print("readyok")
    elif words[0] == "setoption":
        print("chatter about", line.strip())
    elif words[0] == "position":
        moves = words[words.index("moves") + 1:] if "moves" in words else []
        turn = "w" if len(moves) % 2 == 0 else "b"
    elif words[0] == "go":
        assert words[1:3] == ["depth", "{depth}"], words
        if trouble == "dies":
            sys.exit(3)
        if trouble == "hangs":
            time.sleep(60)
        if trouble == "raves":
            print("bestmove h8h1")
        elif trouble == "mute":
            print("bestmove f3e5")
        elif turn == "w":
            print("info depth {depth} score cp 148 pv f3e5\\nbestmove f3e5")
        else:
            print("info depth {depth} score cp -28 pv b8c6\\nbestmove b8c6")
    elif words[0] == "quit":
        break
    sys.stdout.flush()
"""


def make_engine(folder: Path, trouble: str | None = None, depth: int = 14) -> Path:
    """A toy that sees White ahead by 0.28 pawns where Black is to move, else by 1.48."""
    path = folder / f"toy-{trouble or 'well'}"
    path.write_text(PROGRAM.format(python=sys.executable, trouble=trouble, depth=depth), "utf-8")
    path.chmod(0o755)
    return path
