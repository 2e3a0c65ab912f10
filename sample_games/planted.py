"""What was planted in the sample games: the truths that tests may look for.

The shares themselves stand in club_lines.py; ``club_openings.rate(line, san,
strength)`` reads them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from club_people import STUDENT


@dataclass(frozen=True, slots=True)
class Planted:
    """A reply whose share falls with strength. ``punish`` is SAN after it, or empty."""

    line: str
    san: str
    punish: str
    costs: bool  # False: weak players choose it, yet it scores no worse than they do


PLANTED = (
    Planted("e4 e5 Nf3", "f6", "Nxe5 fxe5 Qh5", True),
    Planted("e4 e5 Nf3", "Bc5", "Nxe5", True),
    Planted("e4 e5 Nf3", "h6", "Nxe5", True),
    Planted("e4 e5 Qh5", "g6", "Qxe5", True),
    Planted("e4 e5 Qh5 Nc6 Bc4", "Nf6", "Qxf7", True),
    Planted("e4 e5 Nf3 Nf6 Nxe5", "Nxe4", "Qe2", True),
    Planted("e4 e5 Nf3 Nc6 Bc4 Nf6 Ng5", "h6", "Nxf7", True),
    Planted("e4 e5 Nf3 Nc6 Bc4 Nd4", "Nxe5", "Qg5", True),
    Planted("e4 e5 Nf3", "d6", "", False),
    Planted("e4 e5 Nf3 Nc6", "h3", "", False),
    Planted("e4 e5 Nf3 Nc6 Bc4", "d6", "", False),
    Planted("e4 e5 Nf3 Nc6 Bc4", "h6", "", False),
    Planted("d4 d5", "Nc3", "", False),
)

# Whoever is hit by a move that the table marks as punishing is shaken: from then
# on they play like somebody this much weaker, which is what a mistake costs.
SHAKEN = 900


@dataclass(frozen=True, slots=True)
class Habit:
    """After ``line`` its owner plays ``san`` with this chance, and never otherwise.

    Several habits at one position are asked one after the other. With
    ``until`` the habit ends on the day before that date, for good.
    """

    line: str
    san: str
    share: float
    until: date | None = None


@dataclass(frozen=True, slots=True)
class HabitOfLevel:
    """In how many of 100 games a side has a habit, from and to: under 800 and from 1600 on.

    Between them it goes steadily one way. Of games in which the side made that many moves.
    """

    by_move: int
    under_800: tuple[int, int]
    from_1600: tuple[int, int]


# Weak players castle late and bring the queen out early: see ``CASTLES`` and
# ``QUEEN_WAITS`` in club_player.py, and the early queens in club_lines.py.
CASTLED = HabitOfLevel(10, (14, 23), (56, 68))
QUEEN_OUT = HabitOfLevel(4, (10, 18), (0, 5))

# All that sets the student apart from others of her level: one recurring mistake, one
# line of the lesson forgotten, one opening that suits her, and a repertoire that
# she keeps to (STUDENT_HABITS).
MISTAKE_STOPS = date(2026, 2, 1)
# The one recurring mistake of the student, and the day she has learnt better.
RECURRING = Habit("e4 e5 Nf3", "f6", 0.7, until=MISTAKE_STOPS)
# The lesson teaches 4.d3 here; she plays 4.Nc3 six times in seven.
FORGOTTEN = Habit("e4 e5 Nf3 Nc6 Bc4 Nf6", "Nc3", 0.85)
FORGOTTEN_LESSON_MOVE = "d3"
# In this opening she plays like somebody this much stronger.
STRONG_OPENING = "d4 f5"
STRONG_OPENING_BONUS = 400

STUDENT_HABITS = (
    Habit("", "e4", 0.97),
    Habit("e4 e5", "Nf3", 0.98),
    Habit("e4 e5 Nf3 Nc6", "Bc4", 0.96),
    FORGOTTEN,
    Habit("e4 e5 Nf3 Nc6 Bc4 Nf6", FORGOTTEN_LESSON_MOVE, 1.0),
    Habit("e4 e5 Nf3 Nc6 Bc4 Bc5", "c3", 0.94),
    Habit("e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6", "d3", 0.95),
    Habit("e4 e5 Nf3 Nc6 Bc4 Nd4", "Nxd4", 0.95),
    Habit("e4 e5 Nf3 d6", "d4", 0.94),
    Habit("e4 e5 Nf3 Nf6", "Nxe5", 0.95),
    Habit("e4 e5 Nf3 f6", "Nxe5", 0.9),
    Habit("e4 e5 Nf3 f6 Nxe5 fxe5", "Qh5", 1.0),
    Habit("e4", "e5", 0.97),
    RECURRING,
    Habit("d4", "f5", 0.95),
)
# Whom she meets was taught much as she was, so that the planted lines do arise.
OPPONENT_HABITS = (
    Habit("", "e4", 0.58),
    Habit("", "d4", 0.9),
    Habit("e4", "e5", 0.8),
    Habit("e4 e5", "Nf3", 0.85),
    Habit("e4 e5 Nf3", "Nc6", 0.75),
    Habit("e4 e5 Nf3 Nc6 Bc4", "Nf6", 0.6),
    Habit("e4 e5 Nf3 Nc6 Bc4", "Bc5", 0.75),
)
# One club member makes nearly all of a move: a habit of one, not of a level.
HABIT_OF_ONE = Habit("", "g4", 0.7)

# A class for the pages about students: the student and nine club juniors.
CLASS = (
    STUDENT,
    "Appleyard, Molly",
    "Arkwright, Finn",
    "Beckford, Jaden",
    "Coulter, Erin",
    "Easterby, Toby",
    "Gathercole, Posy",
    "Greenhalgh, Alfie",
    "Hakimi-West, Laila",
    "Jessop, Oscar",
)
