"""README's sessions and command reference, run and compared: ``python -m tests.docs --write``.

A block ``console`` is a session: a line ``$ command`` and what it prints. All
sessions run one after the other in one empty folder. A line ``...`` stands for
the rest of a long output. The text between the marks REFERENCE is the
commands' own help.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

README = Path(__file__).parents[1] / "README.md"
SESSION = re.compile(r"(?<=```console\n).*?(?=```)", re.DOTALL)
REFERENCE = re.compile(
    r"(?<=<!-- REFERENCE: made by python -m tests.docs --write -->\n).*?(?=<!-- END -->)", re.DOTALL
)
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "REPLYBOOK_LIBRARY"} | {
    "COLUMNS": "80",
    "PYTHONIOENCODING": "utf-8",
}


def replybook(words: list[str], folder: str, environment: dict[str, str]) -> str:
    """What the command prints to standard output, and to standard error if it fails."""
    done = subprocess.run(
        [sys.executable, "-c", "from explorer.cli.main import run; run()", *words],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    return done.stdout or done.stderr


def remade_session(session: str, folder: str, environment: dict[str, str]) -> str:
    """The session with what its commands print now."""
    made = []
    for part in re.split(r"(?m)^(?=\$ )", session):
        command, _, before = part.partition("\n")
        words = shlex.split(command.removeprefix("$ "), comments=True)
        if not words:
            continue
        if words[0] == "export":
            name, _, value = words[1].partition("=")
            environment[name] = value
            made.append(part)
            continue
        printed = replybook(words[1:], folder, environment)
        if re.search(r"(?m)^\.\.\.$", before):
            kept = before.split("\n...\n")[0].count("\n") + 1
            printed = "\n".join([*printed.splitlines()[:kept], "...", ""])
        made.append(f"{command}\n{printed}")
    return "".join(made)


def reference() -> str:
    """The help of the program and of each of its commands, a group's commands after it."""
    helps = [replybook(["--help"], ".", ENVIRONMENT)]
    for name in _commands(helps[0]):
        helps.append(replybook([name, "--help"], ".", ENVIRONMENT))
        helps += [
            replybook([name, inner, "--help"], ".", ENVIRONMENT) for inner in _commands(helps[-1])
        ]
    return "".join(f"\n```text\n{text.strip()}\n```\n" for text in helps) + "\n"


def _commands(text: str) -> list[str]:
    """The commands that a help lists."""
    return re.findall(r"(?m)^  ([a-z]+) ", text.partition("Commands:")[2])


def remade(text: str) -> str:
    """README with its sessions run again and its reference made again."""
    environment = dict(ENVIRONMENT)
    with tempfile.TemporaryDirectory() as folder:
        text = SESSION.sub(lambda found: remade_session(found[0], folder, environment), text)
    return REFERENCE.sub(lambda _: reference(), text)


if __name__ == "__main__":
    now = README.read_text(encoding="utf-8")
    new = remade(now)
    if "--write" in sys.argv:
        README.write_text(new, encoding="utf-8")
    sys.exit(0 if new == now or "--write" in sys.argv else "README.md is out of date")
