"""What is wrong with the words of a command, in one line: the thing, the cause, the next step."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

from typer.core import TyperGroup
from typer.exceptions import TyperException

from ingest.errors import UsageError

PROGRAM = "replybook"


class Commands(TyperGroup):
    """The commands; an unknown one gets the nearest in the error's line."""

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command of that name. UsageError when there is none."""
        found = super().get_command(ctx, cmd_name)
        if found is None:
            near = get_close_matches(cmd_name.lower(), self.commands, 1)
            raise UsageError(
                f"{cmd_name}: no such command; {_meant(near)}{ctx.command_path} --help lists them"
            )
        return found


def complaint(error: TyperException) -> str:
    """The line for what typer raises when it cannot read the words of a command.

    Its classes are not public, so they are told apart by name; one that is
    not known keeps its own message.
    """
    fault: Any = error
    context = getattr(error, "ctx", None)
    path = context.command_path if context else PROGRAM
    match type(error).__name__:
        case "NoSuchOption" if path == PROGRAM:
            near = _meant(fault.possibilities or ())
            return (
                f"{fault.option_name}: no such option before the command; {near}"
                f"options of a command go after it, as {PROGRAM} COMMAND --help shows"
            )
        case "NoSuchOption":
            near = _meant(fault.possibilities or ())
            return f"{fault.option_name}: no such option of {path}; {near}{path} --help lists them"
        case "MissingParameter":
            return f"{path}: {_name(fault.param)} is missing; {path} --help says what belongs there"
        case "BadOptionUsage" if "value" not in fault.message:
            return f"{fault.option_name}: nothing stands after it; write its value there"
        case "UsageError" if found := re.search(r"extra argument\S* \((.*)\)", fault.message):
            return f"{path}: too many words ({found[1]}); put in quotes what belongs together"
    said = error.format_message().rstrip(".")
    return f"{path}: {said[:1].lower()}{said[1:]}; {path} --help says what belongs there"


def _name(parameter: Any) -> str:
    """``PATH``, or ``--collection NAME``."""
    option = parameter.opts[0] if parameter.param_type_name == "option" else ""
    return f"{option} {parameter.metavar}".strip()


def _meant(near: Sequence[str]) -> str:
    return f"did you mean {near[0]}? " if near else ""
