"""A student's games in short."""

from __future__ import annotations

import numpy as np

from explorer.query.student_games import OwnGames
from explorer.query.student_numbers import day_of, results_of
from explorer.query.student_parts import Count, RatedGame, Results, Short
from explorer.query.visits import NO_DAY, NOT_KNOWN, Flags
from explorer.query.where import COLOURS
from ingest.tags import Pace


def short_of(games: OwnGames) -> Short:
    """Results, paces, dates and ratings, of all games."""
    dated = np.flatnonzero(games.day != NO_DAY)
    rated = np.flatnonzero(games.rating != NOT_KNOWN)
    known = np.flatnonzero((games.rating != NOT_KNOWN) & (games.day != NO_DAY))
    ratings = games.rating[rated]
    paces = np.bincount(games.pace, minlength=len(Pace))
    return Short(
        games=len(games),
        results=(
            _results(games, "all", np.ones(len(games), np.bool_)),
            *(_results(games, side, games.white == (side == COLOURS[0])) for side in COLOURS),
        ),
        paces=tuple(
            Count(Pace(number).word, int(paces[number]))
            for number in np.argsort(-paces, kind="stable").tolist()
            if paces[number]
        ),
        first=day_of(int(games.day[dated[0]])) if len(dated) else None,
        last=day_of(int(games.day[dated[-1]])) if len(dated) else None,
        undated=len(games) - len(dated),
        first_rating=_rated(games, known[0]) if len(known) else None,
        last_rating=_rated(games, known[-1]) if len(known) else None,
        lowest_rating=int(ratings.min()) if len(rated) else None,
        highest_rating=int(ratings.max()) if len(rated) else None,
        rated_games=len(rated),
        set_up=int(np.count_nonzero(~games.normal)),
        both_sides=games.both_sides,
    )


def _results(games: OwnGames, of: str, here: Flags) -> Results:
    return results_of(of, games.points[here], games.over[here])


def _rated(games: OwnGames, row: int) -> RatedGame:
    return RatedGame(int(games.rating[row]), day_of(int(games.day[row])), games.scale[row])
