"""The command ``replybook``: parse, one library call, print."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Annotated

import typer
from typer.exceptions import TyperException

from explorer import __version__
from explorer.cli import adding, asking, command_line, console, demo, reporting
from explorer.cli.exits import Exit, exit_for
from explorer.cli.place import library_path
from ingest.errors import ReplybookError

app = typer.Typer(
    name="replybook",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="What players at your students' level really play, from your own PGN files.",
)
for commands in (demo, adding, asking, reporting):
    commands.register(app)


@app.callback(invoke_without_command=True)
def bare(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Say the version.")] = False,
) -> None:
    """What players at your students' level really play, from your own PGN files."""
    if version:
        console.show(f"replybook {__version__}")
    elif context.invoked_subcommand is None:
        path = library_path(None)
        there = path.is_file()
        next_step = "replies e4 e5 Nf3" if there else "add GAMES.pgn --collection NAME"
        console.show(
            "Replybook shows what players at your students' level really play, "
            "from your own games.\n"
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
        code = app(list(words), standalone_mode=False)
        return Exit(code or Exit.DONE)
    except TyperException as error:
        console.say(f"{error.format_message()} (replybook --help lists the commands)")
        return Exit.USAGE
    except ReplybookError as error:
        console.say(str(error))
        return exit_for(error)
    except (KeyboardInterrupt, typer.Abort):
        console.say("Interrupted: what was finished is kept, nothing is half done.")
        return Exit.INTERRUPTED
    except BrokenPipeError:
        # Whoever read our output has seen enough; keep Python from saying so again at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return Exit.DONE


def run() -> None:
    """The console script."""
    sys.exit(main(sys.argv[1:]))
