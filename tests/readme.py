"""The README's commands, for the checks that run them.

``python tests/readme.py demo`` and ``... test`` print the one-line command of
that purpose: the first code line under the heading that the purpose names.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

README = Path(__file__).parents[1] / "README.md"
HEADINGS = {"demo": "## Try it", "test": "## Run the tests"}


def command(purpose: str) -> str:
    section = README.read_text(encoding="utf-8").split(HEADINGS[purpose], 1)[1]
    block = re.search(r"```sh\n(.+?)\n```", section, re.DOTALL)
    if block is None:
        raise SystemExit(f"README.md: no shell block under {HEADINGS[purpose]!r}")
    return block[1].splitlines()[0]


if __name__ == "__main__":
    print(command(sys.argv[1]))
