"""The sheet that every page is: one file, whole without scripts and network, made to be printed.

Head, footnotes, and where the numbers come from; what stands between is the page's own.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING

from explorer.query.model import Source
from explorer.report import palette, words
from explorer.report.bar import Bar, Links
from explorer.report.diagram import LEFT, SQUARE, TOP, Marks, shared_drawings
from explorer.report.privacy import Answer, Veil

if TYPE_CHECKING:
    from jinja2 import Environment

WHOLE_HYPHEN = "\u2011"  # no line ends after it


@dataclass(frozen=True, slots=True)
class PageOptions:
    """What a page is made with besides its answers.

    ``command`` makes it again and is printed at its end; ``made_on`` is the
    only thing that two runs may differ in. ``view`` is the side at the bottom,
    ``names`` "initials" or "full", ``letters`` a language's piece letters,
    ``marks`` what is drawn on the first diagram. ``interactive`` adds the
    chart for screens (4.8 MB). ``large`` is for young or weak eyes. ``words`` are
    the command's, after the program's name: the page keeps them for `remake`. ``bar`` is
    what the local page adds; a page that is a file of its own has none.
    """

    command: str
    made_on: date
    view: str = "white"
    names: str = "initials"
    letters: str | None = None
    marks: Marks = field(default_factory=Marks)
    interactive: bool = True
    large: bool = False
    words: tuple[str, ...] = ()
    bar: Bar | None = None

    @property
    def links(self) -> Links | None:
        """Where links lead; None on a page that stands alone."""
        return self.bar.links if self.bar else None


def sheet(
    template: str,
    answer: Answer | None,
    options: PageOptions,
    *,
    title: str,
    name: str | None,
    notes: Sequence[str],
    reached: Sequence[tuple[str, str]],
    veil: Veil | None = None,
    chosen: str = "",
    **content: object,
) -> str:
    """A template on the sheet, filled in.

    ``answer`` is None for a page that no library was asked for, ``veil`` the one over the
    answer if left out. ``chosen`` says which games were, where `words.filter_sentence` does
    not. ``notes`` are the footnotes, ``reached`` are lines (what, how many) on the games that
    were looked at, for the foot. The bytes depend on the arguments alone.
    """
    if veil is None:
        veil = Veil.over(answer, options.names) if answer else Veil(options.names)
    if answer and not chosen:
        chosen = words.filter_sentence(answer.filters, veil)
    collections = answer.source.collections if answer else ()
    command = veil.text(options.command)
    return rendered(
        template,
        style=style(),
        drawings=shared_drawings(),
        title=title,
        name=words.clean(name or ""),
        large=options.large,
        bar=options.bar,
        view=options.view,
        remake=_command_to_remake(options, veil),
        filters=chosen,
        notes=notes,
        collections=[words.clean(veil.text(name)) for name in collections],
        reached=reached,
        made_on=words.day(options.made_on),
        command=words.clean(command),
        name_hidden=command != options.command,
        **content,
    )


def _command_to_remake(options: PageOptions, veil: Veil) -> str:
    """The words of the command as one line (POSIX shell syntax); empty where a name is hidden."""
    line = shlex.join(options.words)
    return line if veil.text(line) == line else ""


def moves_read(source: Source) -> str:
    """How far into the games the library looks: ``in the first 20 moves``."""
    return f"in the first {(source.plies + 1) // 2} moves"


@cache
def style() -> str:
    """The stylesheet with the palette's colours."""
    text = resources.files("explorer.report").joinpath("style.css").read_text("utf-8")
    colours = {
        name: getattr(palette, name) for name in ("INK", "PAPER", "OCHRE", "PLUM", "MUTED", "RULE")
    }
    root = " ".join(f"--{name.lower()}: {value};" for name, value in colours.items())
    return f":root {{ {root} }}\n{text}"


def typeset(text: str) -> str:
    """Text with a printer's signs: minus, dashes, quotes, blanks and hyphens that do not break."""
    if text == words.NOTHING:
        return "–"
    text = re.sub(r'"([^"]*)"', r"“\1”", text).replace("'", "’")
    text = re.sub(r"(?<![\w-])-(?=\d)", "−", text)
    text = re.sub(r"(?<=\d)-(?=[\d<>])", "–", text)
    text = re.sub(r"(?<=\bO)-(?=O\b)", WHOLE_HYPHEN, text)  # castling
    return re.sub(r"(?<=\d) (?=%)|(?<=\d\.) (?=\S)|(?<=\d\.\.\.) (?=\S)", words.NO_BREAK, text)


def rendered(template: str, **values: object) -> str:
    """A template filled in; everything is escaped but the drawings, style and scripts of ours."""
    return _environment().get_template(template).render(**values)


@cache
def _environment() -> Environment:
    """The templates, each read once."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("explorer.report"),
        auto_reload=False,
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["typeset"] = typeset
    environment.globals["measures"] = f"{LEFT} {TOP} {SQUARE}"  # of a diagram, for board.js
    return environment
