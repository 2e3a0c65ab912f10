"""The page of a student."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from explorer.query.student import StudentOptions, student
from explorer.query.student_model import StudentAnswer
from explorer.query.student_who import Who
from explorer.report.bar import Bar, Blank, Form, Link
from explorer.report.plain_page import plain_page
from explorer.report.privacy import initials
from explorer.report.student_page import student_page
from explorer.report.student_sentences import sans_of
from explorer.report.words import sentence
from explorer.web.asked import Asked, address, asked_of
from explorer.web.bars import STUDENT, Place, filters_form, page_bar
from explorer.web.delivery import deliver, options
from explorer.web.desk import Desk
from explorer.web.links import POSITION
from ingest.errors import NothingFound

SAID = {  # before the blank, and read out
    "level": ("Beside players", "Level of the others"),
    "since": ("; before and since", "Compare before and since"),
    "until": ("; games until", "Until"),
}


def one(desk: Desk, request: Request) -> Response:
    """What a student plays, what it costs, and whether it got better; first, whose games."""
    asked = asked_of(request.query_params, ["name"])
    filters = replace(asked.filters, player=None, side=None, min_games=1, by="level", opponents=())
    asked = replace(asked, filters=filters)
    name = asked.value("name") or ""
    own = (("name", name),) if name else ()
    command = ("student", name) if name else ()
    place = Place(STUDENT, asked, own, command, called=("student", initials(name)))
    form = _form(desk, place, name)

    @cache
    def answer() -> StudentAnswer:
        asking = StudentOptions(replace(filters, since=None), since=filters.since)
        return student(desk.library, Who((name,)), asking)

    def barred() -> Bar:
        return replace(
            page_bar(place, STUDENT, form),
            places=tuple(_places(asked, answer())),
            whose_places="The student's positions",
        )

    nobody = page_bar(replace(place, command=()), STUDENT, form)
    plain = replace(options(desk, place), bar=nobody, interactive=False)
    if not name:
        says = ["Write a student's name into the sentence above: what they play, what it costs."]
        return HTMLResponse(plain_page("Student", says, plain))
    try:
        return deliver(desk, request, place, barred, lambda shown: student_page(answer(), shown))
    except NothingFound as nothing:  # the sentence stays, to be put right
        return HTMLResponse(plain_page("Nothing found", [sentence(str(nothing))], plain), 404)


def _places(asked: Asked, answer: StudentAnswer) -> Iterator[Link]:
    """The positions that the page speaks of, each once."""
    choices = [choice for tree in answer.plays for choice in tree.choices if choice.differs]
    lines = [choice.line for choice in choices]
    lines += [place.line for place in answer.lesson.places] if answer.lesson else []
    lines += [cost.line for cost in answer.costs.found]
    lines += [one.line for one in (*answer.mistakes.made, *answer.mistakes.punished)]
    for line in dict.fromkeys(lines):
        sans = " ".join(sans_of(line))
        where = (("line", sans),) if sans else ()
        yield Link(line or "Start", address(POSITION, (*where, *asked.kept)))


def _form(desk: Desk, place: Place, name: str) -> Form:
    """The sentence of a student's page: levels are the others', a day parts before and after."""
    box = Blank("; the student is", "text", "name", "The student's name", name)
    form = filters_form(desk, place, (box,), whose=False)
    blanks = tuple(_said(blank) for blank in form.blanks if blank.name != "opponents")
    return replace(form, blanks=blanks)


def _said(blank: Blank) -> Blank:
    before, label = SAID.get(blank.name, (blank.before, blank.label))
    return replace(blank, before=before, label=label)
