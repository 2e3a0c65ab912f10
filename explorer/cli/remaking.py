"""`replybook remake`: every page of ours in a folder again, with today's library.

A page is a file that anybody may have written, so its command is not trusted: only the
commands that make pages are run, in this process and without a shell; each writes to the
page's own file and nowhere else, and starts no program.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.exceptions import TyperException

from explorer.cli import command_line, console
from explorer.cli.complaints import complaint
from explorer.cli.exits import Exit
from explorer.cli.options import is_page
from explorer.cli.place import page_name
from ingest.dataset import is_remote
from ingest.errors import InputError, NothingFound, ReplybookError, UsageError

PAGE_COMMANDS = {"report", "mistake", "costly", "plans", "habits", "worksheet", "handout"}
PAGE_COMMANDS |= {"student", "week", "class"}
LESSON_PAGE = ("lesson", "page")
READ = {"library", "lesson", "players", "students", "file"}  # files that a command only reads
WHOLE_FOLDER = "class"  # makes all its pages at once


def remake(
    context: typer.Context,
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", hidden=True)],
) -> None:
    """Make every page in a folder again, with today's library.

    Call it where the pages were made: files that they name, such as a lesson, are looked
    for from there. For example: replybook remake pages
    """
    made, left = 0, 0
    whole: set[tuple[str, ...]] = set()
    for page in _pages(folder):
        try:
            if not _remade(context.find_root(), page, whole):
                continue
            made += 1
        except (ReplybookError, TyperException) as error:
            why = complaint(error) if isinstance(error, TyperException) else str(error)
            console.say(f"{page}: left as it was: {why}")
            left += 1
    if not made and not left:
        raise NothingFound(f"{folder}: no page of Replybook in it; name a folder that has some")
    _summary(made, left)
    if left:
        raise typer.Exit(Exit.BAD_INPUT)


def _pages(folder: Path) -> list[Path]:
    try:
        return sorted(path for path in folder.iterdir() if is_page(path) and path.is_file())
    except OSError as error:
        raise InputError(f"{folder}: cannot be read as a folder ({error.strerror})") from error


def _remade(root: Any, page: Path, whole: set[tuple[str, ...]]) -> bool:
    """Make one page again; False when it is not ours. ReplybookError says why it cannot be.

    ``whole`` are the commands that have made all their pages already.
    """
    from explorer.report.kept import kept_command

    words = kept_command(page)
    if words is None:
        return False
    if not words:
        raise UsageError("its command names somebody, and the page hides that; type it again")
    if words in whole:
        return True
    command, rest = _command(root, words)
    with command.make_context(" ".join(words[: len(words) - len(rest)]), rest, root) as context:
        context.params = _safe(context.params, page)
        command_line.remember(words)
        command.invoke(context)
    if words[0] == WHOLE_FOLDER:
        whole.add(words)
    return True


def _command(root: Any, words: Sequence[str]) -> tuple[Any, list[str]]:
    """The command that makes the page, and the words after its name."""
    asks_for_help = "--help" in words
    if words[0] in PAGE_COMMANDS and not asks_for_help:
        return root.command.get_command(root, words[0]), list(words[1:])
    if tuple(words[:2]) == LESSON_PAGE and not asks_for_help:
        lesson = root.command.get_command(root, words[0])
        return lesson.get_command(root, words[1]), list(words[2:])
    raise UsageError("its command makes no page")


def _safe(params: dict[str, Any], page: Path) -> dict[str, Any]:
    """The options of a page's command with its own file as the only one that is written."""
    if params.get("format") is not None:
        raise UsageError("its command makes no page")
    if params.get("engine") is not None:
        raise UsageError("its command starts a program (--engine); type it again")
    if "folder" in params:
        return {**params, "folder": _own_folder(params, page), "open": False}
    if is_remote(params.get("dataset") or ""):
        raise UsageError("its command reads over the network (--dataset); type it again")
    for name, value in params.items():
        if isinstance(value, Path) and name not in READ | {"output"}:
            raise UsageError(f"its command writes another file (--{name} {value}); type it again")
    if (output := params.get("output")) is not None:
        # By either system's sign between folders: the page may come from the other one.
        named = re.split(r"[\\/]", str(output))[-1]
        if named != page.name:
            raise UsageError(f"its command makes another file ({named}); this one is a copy")
    return {**params, "output": page, "open": False}


def _own_folder(params: dict[str, Any], page: Path) -> Path:
    """The page's own folder, if its command made it there."""
    folder = params["folder"] or page_name(params["file"].stem, ending="")
    named = re.split(r"[\\/]", str(folder.resolve()))[-1]
    if named != page.resolve().parent.name:
        raise UsageError(f"its command makes pages in another folder ({named}); this one is a copy")
    return page.parent


def _summary(made: int, left: int) -> None:
    from explorer.report.words import count

    kept = f", {left:,} left as {'it was' if left == 1 else 'they were'}" if left else ""
    console.show(f"{count(made, 'page')} made again{kept}.")


def register(app: typer.Typer) -> None:
    """Add this module's command."""
    app.command()(remake)
