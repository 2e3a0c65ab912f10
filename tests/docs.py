"""README's sessions and command reference, run and compared: ``python -m tests.docs --write``.

A block ``console`` is a session: a line ``$ command`` and what it prints. All
sessions run one after the other in one empty folder. A line ``...`` stands for
the rest of a long output. The text between the marks REFERENCE is the
commands' own help, in which what many options have in common is told once.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
import textwrap
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

README = Path(__file__).parents[1] / "README.md"
SESSION = re.compile(r"(?<=```console\n).*?(?=```)", re.DOTALL)
REFERENCE = re.compile(
    r"(?<=<!-- REFERENCE: made by python -m tests.docs --write -->\n).*?(?=<!-- END -->)", re.DOTALL
)
MANY = 4  # commands that have an option in common
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
    """The help of the program and of each of its commands, a group's commands after it.

    What many commands have in common is told once, before them.
    """
    first = replybook(["--help"], ".", ENVIRONMENT)
    helps = []
    for name in _commands(first):
        helps.append(replybook([name, "--help"], ".", ENVIRONMENT))
        helps += [
            replybook([name, inner, "--help"], ".", ENVIRONMENT) for inner in _commands(helps[-1])
        ]
    shared = _shared([_options(text) for text in helps])
    common = f"Every command has --help. Others name these under Also:\n{_listed(shared)}"
    blocks = [first, common, *(_short(text, shared) for text in helps)]
    return "".join(f"\n```text\n{text.strip()}\n```\n" for text in blocks) + "\n"


def _options(text: str) -> dict[str, str]:
    """What a help says of each option but --help."""
    told = text.partition("Options:\n")[2].partition("\n\n")[0]
    entries = re.split(r"(?m)^  (?=-)", told)[1:]
    pairs = (re.split(r"\s{2,}", entry.strip(), maxsplit=1) for entry in entries)
    return {option: " ".join(said.split()) for option, said in pairs if option != "--help"}


def _shared(helps: Sequence[dict[str, str]]) -> dict[str, str]:
    """The options that MANY commands explain in the same words."""
    uses = Counter(pair for options in helps for pair in options.items())
    shared: dict[str, str] = {}
    for (option, said), times in uses.most_common():
        if times >= MANY:
            shared.setdefault(option, said)
    return shared


def _short(text: str, shared: dict[str, str]) -> str:
    """A help without the explanation of shared options, which it only names."""
    options = _options(text)
    own = {option: said for option, said in options.items() if shared.get(option) != said}
    names = [re.split("[ ,]", option)[0] for option in options if option not in own]
    head, _, rest = text.partition("Options:\n")
    told = f"Options:\n{_listed(own)}\n" if own else ""
    if names:
        told += _filled(", ".join(names), "Also: ", 2)
    after = rest.partition("\n\n")[2]
    return f"{head}{told}\n\n{after}"


def _listed(options: dict[str, str]) -> str:
    wide = min(max(map(len, options)), 24)
    return "\n".join(
        _filled(said, f"  {option.ljust(wide)}  ", wide + 4) for option, said in options.items()
    )


def _filled(text: str, lead: str, indent: int) -> str:
    return textwrap.fill(
        text,
        80,
        initial_indent=lead,
        subsequent_indent=" " * indent,
        break_on_hyphens=False,
    )


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
