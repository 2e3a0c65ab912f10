"""The pages of the lessons: the files of the folder, and one lesson."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import PurePath

from starlette.requests import Request
from starlette.responses import Response

from explorer.positions.lesson import Lesson, read_lesson
from explorer.query.lesson_met import lesson_met
from explorer.report.bar import Link
from explorer.report.filter_form import side_blanks
from explorer.report.lesson_page import lesson_page
from explorer.report.plain_page import plain_page
from explorer.report.sheet import PageOptions
from explorer.report.words import clean, count
from explorer.web import lesson_files
from explorer.web.asked import SIDES, Asked, address, asked_of, one_of, whole
from explorer.web.bars import LESSON, LESSONS, Place, filters_form, page_bar
from explorer.web.delivery import deliver
from explorer.web.desk import Desk
from explorer.web.lesson_files import Listing
from explorer.web.links import POSITION

TO_MOVE = 8
LAST_MOVE = 100
MOST_PLACES = 400


def every(desk: Desk, request: Request) -> Response:
    """The lesson files; those in which a position stands where one is asked about."""
    asked = asked_of(request.query_params)
    listing = desk.lessons.listing()
    names = listing.names
    says = [_counted(desk, listing)]
    if asked.position.sans or not asked.position.from_normal_start:
        names = [name for name in names if desk.lessons.holds(name, asked.position.key)]
        says = [
            f"{len(names)} of them {'has' if len(names) == 1 else 'have'} the position "
            f"after {asked.position.numbered or asked.position.fen}."
        ]
    says += _left_out(listing)
    links = [link for name in names for link in _readings(asked, name)]
    first = [str(desk.lessons.path(name)) for name in names[:1]]
    words = ("lesson", "page", *first, "--as", SIDES[0]) if first else ()
    place = Place(LESSONS, asked, nearest=words, called=("lessons",))
    again = "A lesson's page, here of the first" if first else ""

    return deliver(
        desk,
        request,
        place,
        lambda: page_bar(place, LESSONS),
        lambda shown: plain_page("Lessons", says, shown, offered=links, again=again),
    )


def one(desk: Desk, request: Request) -> Response:
    """A lesson: set as a book would, with what it answers and what is missing."""
    asked = asked_of(request.query_params, ["file"])
    filters = replace(asked.filters, player=None, side=None, min_games=1, by="level")
    asked = replace(asked, filters=filters)
    side = one_of(request.query_params, "as", SIDES) or "white"
    to_move = whole(request.query_params, "to_move", 1, LAST_MOVE) or TO_MOVE
    name = asked.value("file") or ""
    path = str(desk.lessons.path(name))
    lesson = read_lesson(path, side)
    own = (("file", name), ("as", side), ("to_move", str(to_move)))
    words = ("lesson", "page", path, "--as", side, "--to-move", str(to_move))
    place = Place(LESSON, asked, own, words, called=("lesson", PurePath(name).stem, side))
    form = filters_form(desk, place, tuple(side_blanks(side, to_move)), whose=False)

    def make(shown: PageOptions) -> str:
        return lesson_page(
            lesson, lesson_met(desk.library, lesson, filters, to_move=to_move), shown
        )

    bar = replace(
        page_bar(place, LESSONS, form),
        places=tuple(_places(asked, lesson)),
        whose_places="The lesson's positions",
    )
    return deliver(desk, request, place, lambda: bar, make)


def _counted(desk: Desk, listing: Listing) -> str:
    if desk.lessons.folder is None:
        return (
            "Start the page with the folder of your lessons to see them here: "
            "replybook browse --lessons FOLDER"
        )
    if not (listing.names or listing.unnamed):
        return "There is no PGN file in the folder of the lessons."
    return f"{count(len(listing.names), 'PGN file')}."


def _left_out(listing: Listing) -> Iterator[str]:
    """What the folder holds beside the files of the list."""
    if listing.more:
        yield (
            f"The folder holds more: at most {count(lesson_files.MOST_FILES, 'file')} of the first "
            f"{count(lesson_files.MOST_LOOKED_AT, 'name')} in it are listed. "
            "Keep the others in a folder of their own."
        )
    if listing.unnamed:
        yield (
            f"{count(listing.unnamed, 'PGN file')} cannot be listed: a name that is no text has "
            "no address. Rename what is missing here."
        )


def _readings(asked: Asked, name: str) -> Iterator[Link]:
    """A file for a student with White and with Black."""
    for side in SIDES:
        pairs = (("file", name), ("as", side), *asked.kept)
        yield Link(
            f"{clean(str(PurePath(name).with_suffix('')))}, for {side.capitalize()}",
            address(LESSON, pairs),
        )


def _places(asked: Asked, lesson: Lesson) -> Iterator[Link]:
    """The positions in which the student knows what to play."""
    for place in lesson.taught[:MOST_PLACES]:
        line = (("line", " ".join(place.sans)),) if place.sans else ()
        yield Link(place.numbered or "Start", address(POSITION, (*line, *asked.kept)))
