"""The answers of the queries: frozen values, no database, no presentation.

Counts are integers. A value that cannot be computed is None. Shares, scores
and expectations are fractions of 1 from the mover's side. Every interval is
95 %. Field names are the JSON contract of the command line.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from explorer.query.filters import Filters

FEW_GAMES = 30
FEW_PLAYERS = 5
# Smaller mean swings are the ordinary ebb of material in an opening.
TELLING_SWING = 0.5


@dataclass(frozen=True, slots=True)
class PositionFacts:
    """The position that was asked about. ``key`` is 16 hexadecimal digits."""

    fen: str
    line: str | None  # "1. e4 e5 2. Nf3"; "" at the start; None when it was not given as moves
    name: str | None
    key: str
    to_move: str  # "white" or "black"


@dataclass(frozen=True, slots=True)
class Ended:
    """Records that stop at the position, by kind."""

    mate_or_stalemate: int
    result: int  # a result is given
    cut_short: int  # no result is given


@dataclass(frozen=True, slots=True)
class LevelCount:
    """Games that reached the position, by level of the mover, or by another group.

    ``filters.by`` says which; only bands of ratings have ends. ``apart``: the group has no
    place in the order of the others (unrated, unknown year).
    """

    label: str
    low: int | None
    high: int | None
    games: int
    apart: bool = False


@dataclass(frozen=True, slots=True)
class TrendOver:
    """A share over levels, years or seasons: "fades", "grows" or "none", with the test behind it.

    ``levels`` is how many of them it is over. ``p`` is None when there was no test.
    """

    direction: str
    p: float | None
    levels: int


@dataclass(frozen=True, slots=True)
class ReplyLevel:
    """One reply among the games of one level, or of another group, that went on.

    ``of`` is the number of games of that level that went on (the share's
    denominator), ``of_players`` their players.
    """

    label: str
    games: int
    players: int
    share: float | None
    share_low: float | None
    share_high: float | None
    score: float | None
    of: int
    of_players: int

    @property
    def few(self) -> bool:
        """Whether the share rests on too few games or players for a claim."""
        return self.of < FEW_GAMES or self.of_players < FEW_PLAYERS


@dataclass(frozen=True, slots=True)
class Reply:
    """One reply, over all chosen games. Wins and losses are the mover's.

    ``share`` is of the games that went on. ``swing`` is the mean in pawns over
    ``swing_games``; ``mated`` counts those mated within the window.
    ``top_player_games`` is the most that one named player accounts for. ``trend`` is
    None by pace, collection and opponents; its p is adjusted for all replies tested.
    """

    san: str
    uci: str
    games: int
    players: int
    share: float | None
    share_low: float | None
    share_high: float | None
    wins: int
    draws: int
    losses: int
    score: float | None
    score_low: float | None
    score_high: float | None
    expected: float | None
    over_expected: float | None
    over_expected_low: float | None
    over_expected_high: float | None
    over_expected_games: int
    performance: int | None
    mean_rating: float | None
    mean_opponent: float | None
    swing: float | None
    swing_games: int
    mated: int
    top_player_games: int
    name: str | None
    levels: tuple[ReplyLevel, ...]
    trend: TrendOver | None = None

    @property
    def few(self) -> bool:
        """Too few games or players to claim anything."""
        return self.games < FEW_GAMES or self.players < FEW_PLAYERS

    @property
    def one_player(self) -> bool:
        """One player made more than a third of the cases."""
        return 3 * self.top_player_games > self.games


@dataclass(frozen=True, slots=True)
class Transposing:
    """A legal move not played here that leads to a position other games reached."""

    san: str
    uci: str
    games_there: int
    name: str | None


@dataclass(frozen=True, slots=True)
class Source:
    """Where the numbers come from, for the foot of every page.

    ``expectation`` is "fide" or "library". ``vague_dates`` counts games left
    out because a date filter could not judge them. ``rating_scales`` are the
    names given with ``add --rating-scale`` among the chosen games; more than
    one means scales are mixed. ``people`` are the players whose name is in the
    name of one of the library's collections.
    """

    collections: tuple[str, ...]
    expectation: str
    vague_dates: int
    rating_scales: tuple[str, ...]
    plies: int
    people: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RepliesAnswer:
    """What players do in a position. ``move_orders`` is 0 when they were not counted."""

    position: PositionFacts
    filters: Filters
    source: Source
    games: int  # reached the position
    players: int
    ended_here: int
    ended: Ended
    unknown_results: int
    levels: tuple[LevelCount, ...]
    replies: tuple[Reply, ...]
    replies_left_out: int  # by min_games and top
    transposing: tuple[Transposing, ...]
    move_orders: int

    @property
    def went_on(self) -> int:
        """Games with a move from the position: the shares' denominator."""
        return self.games - self.ended_here


@dataclass(frozen=True, slots=True)
class Order:
    """One move order. ``parts_at`` is the ply (from 0) at which it leaves the
    commonest order, None for the commonest itself and for an equal prefix.
    ``start_fen`` is None for the normal starting position."""

    line: str
    ucis: tuple[str, ...]
    games: int
    share: float
    parts_at: int | None
    start_fen: str | None = None


@dataclass(frozen=True, slots=True)
class OrdersAnswer:
    """The move orders by which games reached a position, commonest first."""

    position: PositionFacts
    filters: Filters
    source: Source
    games: int
    orders: tuple[Order, ...]
    orders_left_out: int


@dataclass(frozen=True, slots=True)
class GameRow:
    """One game that reached the position. ``moves`` is its length in moves,
    ``line`` its SAN mainline, ``reply`` the move played from the position."""

    id: int
    white: str | None
    black: str | None
    white_rating: int | None
    black_rating: int | None
    result: str  # "1-0", "0-1", "1/2-1/2", "*"
    date: str  # as PGN writes it, "2024.??.??"
    played: datetime.date | None
    event: str | None
    site: str | None
    round: str | None
    pace: str
    time_control: str | None
    termination: str | None
    moves: int
    reply: str | None
    ended_by_mate: bool
    start_fen: str | None
    ucis: tuple[str, ...]
    sans: tuple[str, ...]
    ply_here: int
    cut_short: bool = False  # the record goes on, but could not be read


@dataclass(frozen=True, slots=True)
class GamesAnswer:
    """Games that reached a position, in the order asked for."""

    position: PositionFacts
    filters: Filters
    source: Source
    games: int  # all that match, shown or not
    rows: tuple[GameRow, ...]
