"""The command ``replybook``: parse, one library call, print."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import Annotated

import typer
from typer.exceptions import TyperException
from typer.main import get_command

from explorer import __version__
from explorer.cli import (
    adding,
    asking,
    browsing,
    class_pages,
    command_line,
    console,
    datasets,
    demo,
    drafts,
    finding,
    habits,
    lesson_pages,
    lessons,
    mistakes,
    paper,
    plans,
    remaking,
    reporting,
    students,
)
from explorer.cli.complaints import PROGRAM, Commands, complaint
from explorer.cli.exits import Exit, exit_for
from explorer.cli.place import library_path
from ingest.errors import NO_MEMORY, ReplybookError

app = typer.Typer(
    name=PROGRAM,
    cls=Commands,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="What players at your students' level really play, from your own PGN files.",
)
for commands in (
    demo,
    adding,
    asking,
    mistakes,
    finding,
    habits,
    plans,
    lessons,
    drafts,
    lesson_pages,
    reporting,
    students,
    class_pages,
    browsing,
    paper,
    datasets,
    remaking,
):
    commands.register(app)


@app.callback(invoke_without_command=True)
def bare(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
) -> None:
    """What players at your students' level really play, from your own PGN files."""
    if version:
        console.show(f"replybook {__version__}")
    elif context.invoked_subcommand is None:
        path = library_path(None)
        there = path.is_file()
        next_step = "replies e4 e5 Nf3" if there else "add GAMES.pgn --collection NAME"
        console.show(
            "Replybook shows what players at your students' level really play.\n"
            f"Your library: {path}{'' if there else ' (none yet)'}\n"
            f"Next step:    replybook {next_step}\n"
            "A first look: replybook demo\n"
            "All commands: replybook --help"
        )


def main(words: Sequence[str]) -> Exit:
    """Run one command. A known error is one line on standard error; a bug keeps its traceback."""
    console.prepare()
    command_line.remember(words)
    try:
        return _run(words)
    except TyperException as error:
        console.say(complaint(error))
        return Exit.USAGE
    except ReplybookError as error:
        console.say(str(error))
        return exit_for(error)
    except KeyboardInterrupt:
        console.say("Interrupted: what was finished is kept, nothing is half done.")
        return Exit.INTERRUPTED
    except MemoryError:
        console.say(NO_MEMORY)
        return Exit.LIBRARY_TROUBLE
    except BrokenPipeError:
        console.hush()  # whoever read our output has seen enough
        return Exit.DONE


def _run(words: Sequence[str]) -> Exit:
    """Not by typer's own main, which prints errors and turns interrupts into exit codes."""
    try:
        command = get_command(app)
        with command.make_context(PROGRAM, list(words)) as context:
            command.invoke(context)
    except typer.Exit as over:
        return Exit(over.exit_code)
    return Exit.DONE


def run() -> None:
    """The console script."""
    sys.exit(main(sys.argv[1:]))
