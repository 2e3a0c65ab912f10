"""Answers of `student` made by hand, for what is shown of them. People and clubs are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import chess

from explorer.positions.position import fen_of, numbered
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.habits_model import HabitsAnswer
from explorer.query.lesson_model import Favoured
from explorer.query.mistake_model import Difference, Rate
from explorer.query.model import GameRow, Source
from explorer.query.student_model import (
    MEASURES,
    AgainstLesson,
    Better,
    Change,
    Cost,
    Costs,
    KeptAt,
    Leaving,
    LessonPlace,
    Listed,
    OwnMistake,
    Period,
    Practise,
    ShortGame,
    StudentAnswer,
)
from explorer.query.student_parts import (
    Choice,
    Count,
    OwnMean,
    OwnMove,
    OwnRate,
    OwnTree,
    RatedGame,
    Results,
    Short,
)
from tests.support import habits_answers
from tests.support.mistake_answers import costly_answer

NAME, OTHER_NAME = "Quill, Edda", "Quill-Marsh, Edda"
OPPONENT = "Thornbury, Rex"
LEVEL = "800-999"
SOURCE = Source(("Rowan juniors", "the games of Edda Quill"), "library", 0, (), 40, (NAME,))


def own(cases: int, games: int) -> OwnRate:
    share = cases / games if games else None
    if share is None:
        return OwnRate(cases, games, None, None, None)
    half = 1 / games**0.5
    return OwnRate(cases, games, share, max(0.0, share - half), min(1.0, share + half))


def mean(value: float, half: float, games: int) -> OwnMean:
    return OwnMean(value, value - half, value + half, games)


def others(cases: int, games: int, players: int = 60) -> Rate:
    share = cases / games if games else None
    ends = (None, None) if share is None else (max(0.0, share - 0.04), min(1.0, share + 0.04))
    return Rate(cases, games, players, share, *ends, min(3, cases), min(players, cases))


def results(
    of: str, wins: int, draws: int, losses: int, over: float = 0.0, unknown: int = 0
) -> Results:
    known = wins + draws + losses
    score = (wins + draws / 2) / known if known else None
    half = 1 / max(known, 1) ** 0.5
    return Results(
        of=of,
        games=known + unknown,
        wins=wins,
        draws=draws,
        losses=losses,
        unknown=unknown,
        score=OwnMean(None, None, None, 0) if score is None else mean(score, half / 2, known),
        over_expected=mean(over, half, known),
    )


def difference(mine: OwnRate, theirs: Rate, p: float | None) -> Difference:
    value = (mine.share or 0.0) - (theirs.share or 0.0)
    return Difference(
        value, value - 0.1, value + 0.1, mine.games, theirs.games, p, None, theirs.players
    )


def own_move(
    line: str, san: str, cases: int, games: int, crowd: Rate, over: float = 0.0, out: str = ""
) -> OwnMove:
    position = parse_position(f"{line} {san}".strip())
    return OwnMove(
        san=san,
        uci=position.ucis[-1],
        to=f"{position.key:016x}",
        name=position.opening,
        own=own(cases, games),
        others=crowd,
        results=results("all", cases - cases // 2, 0, cases // 2, over),
        p=0.001 if out else None,
        stands_out=out,
        last=date(2026, 3, 4),
    )


def choice(
    line: str, depth: int, *moves: OwnMove, parent: str | None = None, p: float | None = None
) -> Choice:
    position = parse_position(line)
    first = moves[0]
    return Choice(
        line=position.numbered,
        fen=position.fen,
        key=f"{position.key:016x}",
        name=position.name,
        move=len(position.sans) // 2 + 1,
        depth=depth,
        parent=parent,
        games=first.own.games,
        others_games=first.others.games,
        others_players=first.others.players,
        others_first="Nc6" if first.san == "f6" else first.san,
        moves=moves,
        difference=difference(first.own, first.others, p),
        differs=p is not None and p < 0.05,
    )


def white() -> OwnTree:
    first = choice("", 0, own_move("", "e4", 58, 60, others(620, 1000)))
    second = choice(
        "e4 e5", 1, own_move("e4 e5", "Nf3", 40, 40, others(300, 480)), parent=first.key
    )
    third = choice(
        "e4 e5 Nf3 Nc6",
        2,
        own_move("e4 e5 Nf3 Nc6", "Bc4", 30, 32, others(90, 280)),
        own_move("e4 e5 Nf3 Nc6", "Bb5", 2, 32, others(80, 280)),
        parent=second.key,
        p=0.001,
    )
    fourth = choice(
        "e4 e5 Nf3 Nc6 Bc4 Nf6",
        3,
        own_move("e4 e5 Nf3 Nc6 Bc4 Nf6", "Nc3", 14, 17, others(8, 60)),
        own_move("e4 e5 Nf3 Nc6 Bc4 Nf6", "d3", 3, 17, others(40, 60)),
        parent=third.key,
        p=0.002,
    )
    sicilian = choice(
        "e4 c5", 1, own_move("e4 c5", "Nf3", 11, 12, others(150, 200)), parent=first.key
    )
    return OwnTree(
        "white", None, 60, results("white", 30, 6, 24), (first, second, third, fourth, sicilian)
    )


def black() -> OwnTree:
    first = choice("e4", 0, own_move("e4", "e5", 36, 38, others(400, 900)))
    second = choice(
        "e4 e5 Nf3",
        1,
        own_move("e4 e5 Nf3", "f6", 20, 31, others(90, 520)),
        own_move("e4 e5 Nf3", "Nc6", 11, 31, others(270, 520)),
        parent=first.key,
        p=0.0001,
    )
    return OwnTree("black", "e4", 38, results("black", 15, 3, 20), (first, second))


def dutch() -> OwnTree:
    first = choice("d4", 0, own_move("d4", "f5", 31, 32, others(30, 500), 0.14, "above"), p=0.0001)
    return OwnTree("black", "d4", 32, results("black", 19, 3, 10, 0.14), (first,))


def leaving(by: str = "student", games: int = 14) -> Leaving:
    line = "e4 e5 Nf3 Nc6 Bc4 Nf6" if by == "student" else "e4 e5 Nf3 Nc6 Bc4"
    position = parse_position(line)
    return Leaving(
        by=by,
        line=position.numbered,
        fen=position.fen,
        key=f"{position.key:016x}",
        move=len(position.sans) // 2 + 1,
        san="Nc3" if by == "student" else "Nd4",
        uci="b1c3" if by == "student" else "c6d4",
        instead=("d3",) if by == "student" else ("Bc5", "Nf6"),
        kind="",
        games=games,
        last=date(2026, 5, 2),
        results=results("all", games // 2, 0, games - games // 2),
    )


def lesson() -> AgainstLesson:
    position = parse_position("e4 e5 Nf3 Nc6 Bc4 Nf6")
    place = LessonPlace(
        line=position.numbered,
        fen=position.fen,
        key=f"{position.key:016x}",
        move=4,
        taught="d3",
        kept=own(3, 17),
        missed="Nc3",
        last_missed=date(2026, 5, 2),
        since_then=1,
        over=False,
    )
    return AgainstLesson(
        lesson="italian.pgn",
        title="The Italian Game",
        side="white",
        games=60,
        met=60,
        entered=own(40, 60),
        stayed=mean(3.2, 0.3, 40),
        left_by_student=own(18, 40),
        left_by_opponent=own(20, 40),
        ended=own(2, 40),
        kept=own(118, 140),
        results=(
            results("kept", 12, 2, 8, 0.03),
            results("left", 8, 1, 9, -0.02),
            results("not entered", 10, 3, 7),
        ),
        by_student=(leaving(), replace(leaving(games=4), san="O-O", uci="e1g1", kind="warning")),
        by_opponent=(leaving("opponent", 9),),
        at_moves=(KeptAt(2, own(40, 40)), KeptAt(3, own(30, 32)), KeptAt(4, own(3, 17))),
        places=(place,),
        warnings=(),
    )


def mistake(what: str = "made", cases: int = 20, games: int = 31, over: bool = False) -> OwnMistake:
    costly = costly_answer().found[0]  # 2... f6
    if what == "made":
        line, side, answer, uci = "e4 e5 Nf3", "black", "Nc6", "b8c6"
    else:
        line, side, answer, uci = "e4 e5 Nf3 f6", "white", "Nxe5", "f3e5"
    position, rate, crowd = parse_position(line), own(cases, games), others(90, 520)
    return OwnMistake(
        what=what,
        side=side,
        line=position.numbered,
        fen=position.fen,
        key=f"{position.key:016x}",
        costly=costly,
        answer=answer,
        answer_uci=uci,
        own=rate,
        others=crowd,
        difference=difference(rate, crowd, None),
        last=date(2026, 1, 29),
        since_then=9 if over else 0,
        over=over,
    )


def cost() -> Cost:
    position = parse_position("e4 e5 Nf3")
    return Cost(
        side="black",
        line=position.numbered,
        fen=position.fen,
        key=f"{position.key:016x}",
        name="King's Knight Opening",
        move=2,
        san="f6",
        uci="f7f6",
        own=own(20, 31),
        games=70,
        last=date(2026, 1, 29),
        since_then=0,
        over=False,
        favoured=Favoured("Nc6", "b8c6", 410, 80, 0.53, 0.02, LEVEL),
        difference=Difference(0.22, 0.12, 0.32, 410, 90, 0.0001, 80, 40),
        lost=6.3,
        lost_low=3.4,
        lost_high=9.1,
    )


def period(label: str, games: int, over: float, mistakes: tuple[int, int], kept: int) -> Period:
    year, month = (int(part) for part in label.split("-")) if label[0].isdigit() else (2026, 1)
    return Period(
        label=label,
        since=date(year, month, 1),
        until=date(year, month, 28),
        games=games,
        over_expected=mean(over, 1 / max(games, 1) ** 0.5, games),
        mistakes=own(*mistakes),
        punished=own(mistakes[0] // 2, mistakes[0]),
        kept=own(kept, 20),
        left_at=mean(4.1, 0.2, 6),
    )


def better(since: date | None = date(2026, 2, 1)) -> Better:
    months = (
        period("2025-12", 31, -0.08, (7, 9), 14),
        period("2026-01", 40, -0.05, (8, 12), 15),
        period("2026-02", 36, 0.06, (0, 8), 16),
        period("2026-03", 23, 0.09, (0, 2), 18),
    )
    if since is None:
        return Better(months, None, None, None, (), 2)
    sizes = {"over_expected": 0.12, "mistakes": -0.7, "punished": 0.05, "kept": 0.1, "left_at": 0.2}
    changes = tuple(
        Change(
            name,
            Difference(sizes[name], sizes[name] - 0.15, sizes[name] + 0.15, 60, 55),
            name == "punished",
            True if name == "mistakes" else None,
        )
        for name in MEASURES
    )
    before, after = (
        period("before", 71, -0.06, (15, 21), 29),
        period("after", 59, 0.07, (0, 10), 34),
    )
    return Better(months, since, before, after, changes, 2)


def practise() -> tuple[Practise, ...]:
    first, second, third = (
        parse_position(line) for line in ("e4 e5 Nf3", "e4 e5 Nf3 Nc6 Bc4 Nf6", "e4 e5 Nf3 f6")
    )
    return (
        Practise(
            "mistake", "black", first.numbered, first.fen, f"{first.key:016x}", "f6", "Nc6",
            ("b8c6",), own(20, 31), date(2026, 1, 29),
        ),
        Practise(
            "lesson", "white", second.numbered, second.fen, f"{second.key:016x}", "Nc3", "d3",
            ("d2d3", "f8c5", "c2c3"), own(14, 17), date(2026, 5, 2),
        ),
        Practise(
            "punish", "white", third.numbered, third.fen, f"{third.key:016x}", "d4", "Nxe5",
            ("f3e5", "f6e5", "d1h5"), own(3, 5), None,
        ),
    )  # fmt: skip


MATE = ("e4", "e5", "Nf3", "f6", "Nxe5", "fxe5", "Qh5+", "Ke7", "Qxe5+", "Kf7", "Bc4+", "d5",
        "Bxd5+", "Kg6", "h4", "h5", "Bxb7", "Bxb7", "Qf5+", "Kh6", "d4+", "g5", "Qf7", "Qe7",
        "hxg5+", "Qxg5", "Rxh5#")  # fmt: skip


def game(won: bool, sans: tuple[str, ...] = MATE, ply: int | None = 3) -> ShortGame:
    board = chess.Board()
    ucis = [board.push_san(san).uci() for san in sans]
    people = (NAME, OPPONENT) if won else (OPPONENT, NAME)
    before = chess.Board()
    for uci in ucis[: ply or 0]:
        before.push_uci(uci)
    row = GameRow(
        id=1, white=people[0], black=people[1], white_rating=890, black_rating=None,
        result="1-0", date="2026.03.04", played=date(2026, 3, 4),
        event=f"Rowan juniors: {OPPONENT} meets {NAME}", site="https://example.org/game/1",
        round="3", pace="rapid", time_control=None, termination=None, moves=(len(sans) + 1) // 2,
        reply=None, ended_by_mate=board.is_checkmate(), start_fen=None, ucis=tuple(ucis),
        sans=sans, ply_here=0,
    )  # fmt: skip
    known = ply is not None
    return ShortGame(
        won=won,
        side="white" if won else "black",
        row=row,
        ply=ply,
        line=numbered(sans[: ply or 0]) if known else None,
        fen=fen_of(before) if known else None,
        turn=sans[ply or 0] if known else None,
        swing=-5.0 if known else None,
    )


def short(games: int = 130) -> Short:
    part = games // 2
    return Short(
        games=games,
        results=(
            results("all", games - games // 2 - 10, 9, games // 2, 0.01, 1),
            results("white", part // 2, 6, part - part // 2 - 6, 0.0),
            results("black", games - part - 30, 3, 27, 0.02),
        ),
        paces=(Count("rapid", games - 20), Count("blitz", 20)),
        first=date(2025, 12, 2),
        last=date(2026, 3, 4),
        undated=2,
        first_rating=RatedGame(812, date(2025, 12, 2), None),
        last_rating=RatedGame(890, date(2026, 3, 4), None),
        lowest_rating=790,
        highest_rating=905,
        rated_games=games - 10,
        set_up=0,
        both_sides=0,
    )


def habits() -> HabitsAnswer:
    made = habits_answers
    return made.answer(
        replace(
            made.CASTLED,
            own=made.own(made.CASTLED, made.rate(10, 60, 1), -0.2, 0.001),
        ),
        replace(made.LEFT, own=made.own(made.LEFT, made.rate(18, 60, 1), 0.0, 0.9)),
        replace(made.PIECES, own=made.own(made.PIECES, made.mean(2.9, 60, 1), 0.4, 0.001)),
        player=NAME,
    )


def answer(**changes: object) -> StudentAnswer:
    """A student with 130 games, about whom everything is said."""
    made = StudentAnswer(
        student=NAME,
        names=(NAME, OTHER_NAME),
        not_found=(),
        doubts=(),
        filters=Filters(),
        source=SOURCE,
        level=LEVEL,
        level_by="ratings",
        few=False,
        short=short(),
        plays=(white(), black(), dutch()),
        lesson=lesson(),
        costs=Costs(3, 40, 12, (cost(),)),
        mistakes=Listed(
            level="600-1199",
            looked_for=9,
            made=(mistake(), mistake(cases=0, games=4)),
            punished=(mistake("punished", 2, 5),),
            all_made=own(20, 35),
            all_punished=own(2, 5),
        ),
        better=better(),
        practise=practise(),
        won=(game(True),),
        lost=(game(False), game(False, MATE[:8], None)),
        habits=habits(),
    )
    return replace(made, **changes)


def eight() -> StudentAnswer:
    """A student with eight games: nothing can be claimed."""
    tiny = choice("", 0, own_move("", "e4", 4, 4, others(620, 1000)))
    return answer(
        few=True,
        short=replace(
            short(8),
            results=(
                results("all", 4, 1, 3),
                results("white", 2, 1, 1),
                results("black", 2, 0, 2),
            ),
            paces=(Count("rapid", 8),),
            undated=0,
        ),
        plays=(OwnTree("white", None, 4, results("white", 2, 1, 1), (tiny,)),),
        lesson=None,
        costs=Costs(3, 1, 0, ()),
        mistakes=Listed("600-1199", 9, (), (), own(0, 0), own(0, 0)),
        better=Better((period("2026-03", 8, 0.0, (0, 1), 1),), None, None, None, (), 0),
        practise=(),
        habits=None,
    )
