"""What `forget` asks and says, in words."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from explorer.report.words import MONTHS, clean, count, day, listed
from ingest.forgetting import Forgotten, Person
from ingest.tags import A_PLAYER

ALIKE = 5  # other players that are named


def forget_question(found: Forgotten) -> str:
    """Who that is, what else changes, and the question; in one line."""
    people = "; ".join(map(_person, found.people))
    becomes = f'Games stay, the name becomes "{A_PLAYER}"'
    if found.collections:
        becomes += ", as does what is called after it: " + _new_names(found)
    parts = [f"{people}.", f"{becomes}.", *_left(found), "Forget?"]
    return " ".join(parts)


def forgotten_text(found: Forgotten) -> str:
    """What was done, what is left, and where the name may still stand."""
    names = listed([clean(person.name) for person in found.people])
    lines = [f'Forgotten: {names}. {count(found.games, "game")} of "{A_PLAYER}" instead.']
    if found.collections:
        lines.append(f"Collections renamed: {_new_names(found)}.")
    if found.files:
        lines.append(f"Names of files cleaned: {found.files:,}.")
    lines += _left(found)
    lines.append(
        "Your PGN files, pages made before, and copies of the library still have the name."
    )
    return "\n".join(lines)


def _person(person: Person) -> str:
    """``Doe, Jane: 12 games, 3 May 2024 to 8 June 2025, rated 800 to 1040``."""
    name = clean(person.name)
    if not person.games:
        return f"{name}: no games, but it stands in the ledger or in games of others"
    said = [count(person.games, "game")]
    if person.first is not None and person.last is not None:
        said.append(_from_to(_date(person.first), _date(person.last)))
    if person.lowest is not None and person.highest is not None:
        said.append(f"rated {_from_to(str(person.lowest), str(person.highest))}")
    return f"{name}: {', '.join(said)}"


def _from_to(first: str, last: str) -> str:
    return first if first == last else f"{first} to {last}"


def _date(code: int) -> str:
    """YYYYMMDD, zeros for what is not known, in words."""
    year, month, of_month = code // 10000, code // 100 % 100, code % 100
    if of_month:
        return day(date(year, month, of_month))
    return f"{MONTHS[month - 1]} {year}" if month else str(year)


def _new_names(found: Forgotten) -> str:
    return "; ".join(f"{clean(old)} -> {clean(new)}" for old, new in found.collections)


def _left(found: Forgotten) -> Iterator[str]:
    """What stays though it has a word of the name, and how to take it out as well."""
    others = [f"{clean(name)} ({count(games, 'game')})" for name, games in found.alike[:ALIKE]]
    if more := len(found.alike[ALIKE:]):
        others.append(count(more, "more player"))
    others += [f"the collection {clean(name)}" for name in found.holding]
    if others:
        yield f"With a word of the name, but left as they are: {'; '.join(others)}."
        yield "If that is the same person, add the spelling with --also."
