"""What the local page adds to a sheet: where one is, where one can go, what can be asked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from explorer.query.model import GameRow, PositionFacts


class Links(Protocol):
    """The addresses of what a page shows."""

    def after(self, uci: str) -> str:
        """The position after a move from the page's position."""

    def mistake(self, position: PositionFacts, san: str) -> str:
        """A move in a position as a mistake."""

    def game(self, row: GameRow) -> str:
        """A game."""


@dataclass(frozen=True, slots=True)
class Link:
    """A link; ``here`` is the page itself, ``uci`` the move that it makes, if any."""

    text: str
    href: str
    here: bool = False
    uci: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the choices of a blank."""

    value: str
    text: str
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class Blank:
    """A blank in a sentence: the words before it, and what may stand in it.

    ``kind`` is "select", or a type of HTML's input: "date", "number", "text". ``label``
    is what is read out to those who do not see the sentence.
    """

    before: str
    kind: str
    name: str
    label: str
    value: str = ""
    choices: tuple[Choice, ...] = ()


@dataclass(frozen=True, slots=True)
class Form:
    """A sentence with blanks, to be sent to ``action``; ``kept`` goes along unseen."""

    action: str
    heading: str
    blanks: tuple[Blank, ...]
    button: str
    kept: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Bar:
    """All of it for one page.

    ``sections`` are the kinds of page, ``go`` the box that takes moves, a FEN or a name.
    ``crumbs`` are the line's positions, ``moves`` all legal moves, ``places`` the positions
    that a page speaks of, under the words ``whose_places``, ``tools`` what can be done with the
    board, ``ways`` with the page, ``keeping`` how to take it along.
    ``refresh`` seconds later the page is asked for again (0: never).
    """

    sections: tuple[Link, ...]
    go: Form
    form: Form | None = None
    crumbs: tuple[Link, ...] = ()
    moves: tuple[Link, ...] = ()
    tools: tuple[Link, ...] = ()
    ways: tuple[Link, ...] = ()
    keeping: tuple[Link, ...] = ()
    places: tuple[Link, ...] = ()
    whose_places: str = ""
    fen: str = ""
    refresh: int = 0
    links: Links | None = None
