"""What a student's page says, in plain sentences to the student: things to practise, no verdicts.

Nothing is claimed of fewer than FEW_GAMES games.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from explorer.query.mistake_model import Difference
from explorer.query.model import FEW_GAMES
from explorer.query.student_better import LOWER_IS_BETTER
from explorer.query.student_model import (
    AgainstLesson,
    Better,
    Change,
    Leaving,
    OwnMistake,
    Period,
    StudentAnswer,
)
from explorer.query.student_parts import Doubt, OwnMean, OwnRate, Short
from explorer.report import words
from explorer.report.sentences import NARROW

NOTHING_COSTS = (
    "Nothing that you play can be told apart from the better replies of the others yet. That "
    "is good news, or it takes more games to see."
)
NOTHING_TO_PRACTISE = (
    "Nothing went wrong often enough to single it out. Keep playing, and look again in a month."
)
MEASURES = {
    "over_expected": "Score against expectation",
    "mistakes": "Listed mistakes made",
    "punished": "Opponents' mistakes punished",
    "kept": "Taught moves played",
    "left_at": "Move at which you left the lesson",
}
TELLING = 3  # times
LEFT_IN_ORDER = 2  # ways of leaving a lesson that are told
MOST_ENDED = 3


def in_short(answer: StudentAnswer) -> Iterator[str]:
    """The first sentences of the page."""
    short = answer.short
    yield _games(short)
    if answer.few:
        yield (
            f"{words.count(short.games, 'game')}: that is too few to say what is usual for you, so "
            f"this page makes no claims yet. It shows what happened; from {FEW_GAMES} games on it "
            "can compare."
        )
    elif said := verdict(short.results[0].over_expected):
        yield said
    yield _when(short)
    if not answer.few:
        yield the_others(answer)


def _games(short: Short) -> str:
    whole, white, black = short.results[:3]
    told = f"You played {words.count(short.games, 'game')}"
    sides = [f"{one.games} with {words.side(one.of)}" for one in (white, black) if one.games]
    told += f": {words.listed(sides)}." if len(sides) > 1 else f", {sides[0]}." if sides else "."
    parts = [f"won {whole.wins}", f"drew {whole.draws}", f"lost {whole.losses}"]
    unknown = ""
    if whole.unknown:
        ends = "the result is" if whole.unknown == 1 else "the results are"
        unknown = f"; of {whole.unknown} {ends} not known"
    return f"{told} You {words.listed(parts)}{unknown}."


def verdict(over: OwnMean) -> str | None:
    """The score against what is expected with such ratings; None where nothing can be said."""
    if over.value is None or over.low is None or over.high is None or over.few:
        return None
    rated = words.count(over.games, "rated game")
    if over.low <= 0 <= over.high:
        narrow = over.high - over.low <= NARROW
        how = "about as many points" if narrow else "neither clearly more nor clearly fewer points"
        than = "as" if narrow else "than"
        expect = f"your ratings let one expect ({rated})."
        return f"Against these opponents you scored {how} {than} {expect}"
    more = "more" if over.low > 0 else "fewer"
    return (
        f"Against these opponents you scored {points(over.value)} in 100 games {more} than your "
        f"ratings let one expect ({between_points(over)}, {rated})."
    )


def points(value: float) -> str:
    """``6 points``; the sign is dropped."""
    told = words.hundredths(abs(value)).removesuffix(".0")
    return f"{told} point{'' if told == '1' else 's'}"


def between_points(told: OwnMean | Difference) -> str:
    """``1 to 11``: a range of points in 100, the smaller size first."""
    ends = sorted((abs(100 * (told.low or 0.0)), abs(100 * (told.high or 0.0))))
    return f"{ends[0]:.0f} to {ends[1]:.0f}"


def _when(short: Short) -> str:
    told = [paces(short)]
    if short.first and short.last:
        one_day = short.first == short.last
        told.insert(
            0,
            f"Played on {words.day(short.first)}"
            if one_day
            else f"Played from {words.day(short.first)} to {words.day(short.last)}",
        )
    first, last = short.first_rating, short.last_rating
    if first and last:
        same = first.rating == last.rating
        told.append(
            f"rating {last.rating}" if same else f"rating {first.rating}, then {last.rating}"
        )
    return words.sentence("; ".join(filter(None, told)))


def paces(short: Short) -> str:
    """``rapid (110) and blitz (20)``."""
    named = [
        f"{'pace unknown' if pace.label == 'unknown' else pace.label} ({pace.games})"
        for pace in short.paces
    ]
    return words.listed(named)


WHY = {
    "ratings": "as you were in most of your rated games",
    "class": "the level that your teacher gave",
    "asked": "the level that was chosen for this page",
}


def the_others(answer: StudentAnswer) -> str:
    """Who the others on the page are."""
    if answer.level is None:
        return (
            "“The others” on this page are players of every level: there is no rating of yours yet."
        )
    return f"“The others” on this page are {others(answer)}, {WHY[answer.level_by]}."


def others(answer: StudentAnswer) -> str:
    """``players rated 800-999``."""
    return players_of(answer.level)


def players_of(level: str | None) -> str:
    """Players of a level by its label."""
    if level is None:
        return "players of every level"
    if level == "unrated":
        return "unrated players"
    return f"players {level}" if level.startswith("under") else f"players rated {level}"


def doubt(told: Doubt) -> str:
    """Why the name may be that of two people."""
    if told.kind == "itself" or told.lower is None or told.higher is None:
        games = words.count(told.games, "game")
        return f"In {games} this name stands on both sides; they are left out."
    low, high = told.lower, told.higher
    days = [words.day(one.played) if one.played else "a day not known" for one in (low, high)]
    where = " at two places" if told.kind == "places" else ""
    return (
        f"This may be two people of one name: a rating of {low.rating} ({days[0]}) and one of "
        f"{high.rating} ({days[1]}){where}. Check before you trust the rest."
    )


def often(rate: OwnRate) -> str:
    """``20 of 31``."""
    return f"{rate.cases} of {rate.games}"


def over_now(last: date | None, chances: int) -> str:
    """Praise for what has stopped."""
    since = f" since {words.day(last)}" if last else " since"
    return f"You have stopped: not once in the {chances} chances{since}."


def found_now(last: date | None, chances: int) -> str:
    """Praise for a chance that is no longer missed."""
    since = f"Since {words.day(last)}" if last else "Since then"
    return f"{since} you found it every time, {chances} of {chances}."


def lesson(told: AgainstLesson, letters: str | None) -> Iterator[str]:
    """How the games went beside the lesson."""
    side = words.side(told.side)
    if not told.games:
        yield f"There is no game of yours with {side} yet, the lesson's colour."
        return
    yield (
        f"Of your {words.count(told.games, 'game')} with {side}, {told.entered.cases} entered the "
        "lesson."
    )
    if told.entered.cases:
        yield _who_left(told)
    if left := [one for one in told.by_student if one.kind != "alternative"]:
        yield _you_left(left, letters)
    for one in told.by_student:
        if one.kind == "alternative":
            move = numbered(one.line, one.san, letters)
            yield (
                f"{words.count(one.games, 'time')} you chose {move}, which the lesson names as "
                "another good move."
            )
            break
    if told.by_opponent:
        yield _they_left(told.by_opponent[0], letters)


def _who_left(told: AgainstLesson) -> str:
    stayed = ""
    if told.stayed.value is not None:
        spread = ""
        if not told.stayed.few and told.stayed.low is not None and told.stayed.high is not None:
            spread = f" ({told.stayed.low:.1f} to {told.stayed.high:.1f})"
        stayed = (
            f"Both stayed in it for {told.stayed.value:.1f} moves of yours on average{spread}. "
        )
    ended = ""
    if told.ended.cases:
        ended = f"; in {told.ended.cases} nobody did before the lesson or the record ended"
    return (
        f"{stayed}You left it first in {told.left_by_student.cases} of these games, your opponent "
        f"in {told.left_by_opponent.cases}{ended}."
    )


def _you_left(left: Sequence[Leaving], letters: str | None) -> str:
    """``You left it 9 times; 5 of them at move 4, with 4. h3 instead of 4. d3.``"""
    whole = sum(one.games for one in left)
    parts = []
    often_enough = [one for one in left[1:] if one.games >= TELLING]
    for one in [*left[:1], *often_enough][:LEFT_IN_ORDER]:
        many = "" if one.games == whole else f"{one.games} of them "
        instead = numbered(one.line, one.instead[0], letters) if one.instead else ""
        warned = ", a move that the lesson warns of," if one.kind == "warning" else ""
        parts.append(
            f"{many}at move {one.move}, with {numbered(one.line, one.san, letters)}{warned} "
            f"instead of {instead}"
        )
    return f"You left it {times(whole)}; {words.listed(parts)}."


def _they_left(one: Leaving, letters: str | None) -> str:
    instead = [numbered(one.line, san, letters) for san in one.instead[:3]]
    has = f"; the lesson has {words.listed(instead, 'or')} there" if instead else ""
    return (
        f"Opponents left it most often with {numbered(one.line, one.san, letters)} "
        f"({times(one.games)}){has}."
    )


def times(number: int) -> str:
    """``once``, ``9 times``."""
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def sans_of(line: str) -> list[str]:
    """The moves of a line without their numbers."""
    return [word for word in line.split() if not word[0].isdigit()]


def from_ply(sans: Sequence[str], ply: int, letters: str | None = None) -> str:
    """Moves with their numbers, the first of them played at ``ply`` (from 0): ``3... Nf6``."""
    told = []
    for place, san in enumerate(sans, start=ply):
        if place % 2 == 0 or place == ply:
            told.append(f"{place // 2 + 1}{'...' if place % 2 else '.'}")
        told.append(san)
    return words.spelled(" ".join(told), letters)


def numbered(line: str, san: str, letters: str | None = None) -> str:
    """A move with the number it has after a line: ``4. d3``."""
    return from_ply([san], len(sans_of(line)), letters)


def better(told: Better, mistakes: Sequence[OwnMistake], letters: str | None) -> Iterator[str]:
    """What can be said of progress, and no more."""
    ended = [one for one in mistakes if one.over and one.what == "made"]
    for one in ended[:MOST_ENDED]:
        move = numbered(one.line, one.costly.san, letters)
        since = f" since {words.day(one.last)}" if one.last else " since"
        yield (
            f"You used to play {move} ({often(one.own)} times in all). Not once in the "
            f"{one.since_then} chances{since}."
        )
    if told.since is None:
        return
    if told.before is None or told.after is None or not told.before.games or not told.after.games:
        yield f"There are no games on one side of {words.day(told.since)}, so nothing to compare."
        return
    sure = [change for change in told.changes if change.better is not None]
    for change in sure:
        yield changed(change, told.before, told.after, told.since)
    if not sure:
        yield f"Since {words.day(told.since)}: no clear change; {_why_not(told.changes)}."
    elif len(sure) < len(told.changes):
        yield f"In the rest there is no clear change; {_why_not(told.changes)}."


def _why_not(changes: Sequence[Change]) -> str:
    few = [change for change in changes if change.better is None and change.few]
    open_ = [change for change in changes if change.better is None and not change.few]
    if few and open_:
        return "for some of it there are too few games to say"
    return "too few games to say" if few else "what differs may well be chance"


def changed(change: Change, before: Period, after: Period, since: date) -> str:
    """One measure that surely changed."""
    less = "higher" if change.measure in LOWER_IS_BETTER else "lower"
    how = "better" if change.better else less
    what = MEASURES[change.measure]
    now, then = (_measured(period, change.measure) for period in (after, before))
    return f"Since {words.day(since)} {how}: {what[0].lower()}{what[1:]}, {now}; before, {then}."


def _measured(period: Period, measure: str) -> str:
    """``0 of 10``, ``+6 points in 100 games``, ``4.1``."""
    found = getattr(period, measure)
    if isinstance(found, OwnRate):
        return often(found)
    if measure == "left_at":
        return f"{found.value:.1f} on average"
    return f"{words.signed(found.value)} a game"
