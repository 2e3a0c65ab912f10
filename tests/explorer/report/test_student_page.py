"""A student's page says what the answer says, and tells of nobody else."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from html import unescape

import pytest

from explorer.query.filters import Filters
from explorer.query.student_model import Change, Costs, Listed, StudentAnswer
from explorer.query.student_parts import Doubt, OwnMean, RatedGame
from explorer.report import student_cards, student_grids, student_tree, words
from explorer.report import student_sentences as said
from explorer.report.sheet import PageOptions
from explorer.report.student_discreet import Discreet, spoken, told_apart
from explorer.report.student_page import student_page
from tests.support import student_answers as made

OPTIONS = PageOptions(
    "replybook student 'Quill, Edda' -o student.html",
    date(2026, 3, 9),
    words=("student", "Quill, Edda", "-o", "student.html"),
)
OTHER = "Beckford, Jaden"


def page(answer: StudentAnswer | None = None, names: str = "initials", **more: object) -> str:
    options = replace(OPTIONS, names=names)
    return student_page(made.answer() if answer is None else answer, options, **more)  # type: ignore[arg-type]


def text(html: str) -> str:
    """What a reader reads, on one line, with plain signs."""
    body = re.sub(r"<(style|svg)\b.*?</\1>", " ", html, flags=re.DOTALL)
    plain = unescape(re.sub(r"<[^>]+>", " ", body)).replace("\u00a0", " ")
    for sign, typed in (("−", "-"), ("–", "-"), ("“", '"'), ("”", '"'), ("’", "'")):
        plain = plain.replace(sign, typed)
    return " ".join(plain.split())


def test_that_the_listed_mistakes_are_those_of_all_the_levels_games_is_said() -> None:
    """Discovery is made once for a class; all else of the others is without the student."""
    read = text(page())
    assert "The others never include you" in read
    assert "the games of players rated 600-1199, yours with them, show to be costly" in read


def test_the_sections_come_in_their_order() -> None:
    read = text(page())
    heads = (
        "What you play",
        "Beside the lesson",
        "What costs most",
        "Is it getting better?",
        "Habits in the opening",
        "Short games, and where they turned",
        "What to practise next Black",
        "Footnotes",
        "Where the numbers come from",
    )
    read = read.replace("What to practise next is at", "")
    at = [read.find(head.removesuffix(" Black")) for head in heads]
    assert -1 not in at
    assert at == sorted(at)


def test_it_is_headed_by_initials_and_holds_no_name() -> None:
    """Neither in its text nor in its head; the command that it keeps is left out."""
    html = page()
    assert "<title>The games of E. Q.</title>" in html
    for name in ("Quill", "Edda", "Marsh", "Thornbury", "Rex"):
        assert name.casefold() not in html.casefold()
    assert "replybook-command" not in html
    told = "replybook student 'E. Q.' -o student.html with the name in place of the initials"
    assert told in text(html).replace("</code>", "")


def test_without_rated_games_there_is_no_table_of_dashes() -> None:
    answer = made.answer()
    unrated = replace(answer.short.results[0].over_expected, value=None, games=0)
    rows = tuple(replace(row, over_expected=unrated) for row in answer.short.results)
    heading = ">Score against expectation</"
    bare = replace(answer, lesson=None, short=replace(answer.short, results=rows))
    assert page(replace(answer, lesson=None)).count(heading) == page(bare).count(heading) + 1


def test_full_names_are_a_choice_and_opponents_are_still_not_named() -> None:
    html = page(names="full")
    assert "<title>The games of Edda Quill</title>" in html
    assert "replybook-command" in html
    assert "in place of the initials" not in html
    assert "Thornbury" not in html


def test_nothing_of_somebody_else_is_on_it_whatever_the_teacher_wrote() -> None:
    """Collections, lessons, paths and commands may be named after others of the class."""
    answer = made.answer(
        source=replace(
            made.SOURCE,
            collections=("club", f"games of {OTHER}", "Ferreira training"),
            people=(OTHER,),
        ),
        lesson=replace(made.lesson(), title=f"For {OTHER}", lesson="jaden.pgn"),
    )
    options = replace(OPTIONS, command="replybook class jaden.toml", words=("class", "jaden.toml"))
    html = student_page(answer, options, (OTHER, "Ferreira, Bo"), worksheet="jaden.html")
    for name in ("Jaden", "Beckford", "Ferreira", "J. B.", "B. F."):
        assert name.casefold() not in html.casefold()
    assert "club, 2 others not named here" in html
    assert "replybook class</code>" in html


def test_a_class_tells_like_initials_apart() -> None:
    names = ("Doe, Jane", "Dunn, Jo", "Vale, Ada", "?")
    assert list(told_apart(names)) == ["J. D. (1)", "J. D. (2)", "A. V.", "?"]
    assert "<title>The games of J. D. (2)</title>" in page(label="J. D. (2)")


def test_a_name_is_spoken_with_the_given_name_first() -> None:
    assert spoken("Quill, Edda") == "Edda Quill"
    assert spoken("Edda Quill") == "Edda Quill"
    assert Discreet.over(made.answer(student="1", names=("1",)), "initials").name == "One student"


def test_the_numbers_are_those_of_the_answer() -> None:
    answer, read = made.answer(), text(page())
    for row in student_grids.results(answer)[0].rows:
        assert " ".join(row).replace("\u00a0", " ") in read
    whole = answer.short.results[0]
    assert f"All games {whole.games} {whole.wins} {whole.draws} {whole.losses}" in read
    assert "1. e4 58 of 60 62 % of 1,000" in read
    assert "2... f6 after 1. e4 e5 2. Nf3 20 31 17 % 520" in read
    cost = answer.costs.found[0]
    assert f"{cost.lost:.1f} points ({cost.lost_low:.1f} to {cost.lost_high:.1f})" in read
    change = answer.better.changes[1].difference
    size = f"{100 * (change.value or 0.0):+.1f}"
    assert f"Listed mistakes made 71 %* 21 0 %* 10 {size}" in read


def test_a_student_with_eight_games_gets_no_claim_and_no_chart() -> None:
    html = page(made.eight())
    read = text(html)
    assert "8 games: that is too few to say what is usual for you" in read
    assert 'class="months"' not in html
    for claim in ("clearly", "expect", "costs", "differs", "level", "practise", "getting better"):
        assert claim not in read
    assert "4 of 4" in read
    assert "Footnotes" not in read


def test_the_bytes_depend_on_the_arguments_alone() -> None:
    assert page() == page()


@pytest.mark.parametrize("evil", ["<script>alert(1)</script>", "\x1b[31mred", "a\"b'c&d"])
def test_what_files_say_is_text_on_the_page(evil: str) -> None:
    """Names, lessons, collections and openings come from files that anybody may have written."""
    rows = [replace(made.game(True).row, event=evil, site=evil, black=evil)]
    answer = made.answer(
        student=evil,
        names=(evil,),
        source=replace(made.SOURCE, collections=(evil,), people=()),
        lesson=replace(made.lesson(), title=evil),
        won=(replace(made.game(True), row=rows[0]),),
        costs=replace(made.answer().costs, found=(replace(made.cost(), name=evil),)),
    )
    for names in ("initials", "full"):
        html = page(answer, names)
        assert "<script>alert" not in html
        assert "\x1b" not in html


def test_clear_differences_are_told_in_words_the_largest_first() -> None:
    told = student_tree.differences(made.answer(), None)
    assert told[0] == (
        "After 1. d4 you play 1... f5 in 31 of 32 games; the others do so in 6.0 % of 500 games."
    )
    assert (
        "After 1. e4 e5 2. Nf3 you play 2... f6 in 20 of 31 games; the others do so in 17 % of 520 "
        "games and prefer 2... Nc6."
    ) in told


def test_many_differences_are_counted_and_marked() -> None:
    one = made.dutch()
    start = made.choice("", 0, made.own_move("", "e4", 10, 40, made.others(900, 1000)), p=0.001)
    many = made.answer(plays=(replace(one, choices=(start, *one.choices * 7)),))
    told = student_tree.differences(many, None)
    assert len(told) == student_tree.DIFFERENCES + 1
    assert told[-1].startswith("In 2 further positions")
    few = made.answer(plays=(replace(one, choices=(start,)),))
    assert student_tree.differences(few, None) == [
        "You open with 1. e4 in 10 of 40 games; the others do so in 90 % of 1,000 games, more "
        "often than you."
    ]


def test_an_opening_that_suits_is_told_and_one_that_does_not_is_worth_a_look() -> None:
    told = list(student_tree.stands_out(made.answer(), None))
    assert told == [
        "1. d4 f5, the Dutch Defence, goes well for you: you score 14 points in 100 games more "
        "than your ratings let one expect (4 to 32; 31 games)."
    ]
    move = made.own_move("", "e4", 40, 40, made.others(1, 2), -0.2, "below")
    white = replace(made.white(), choices=(made.choice("", 0, move),))
    (below,) = student_tree.stands_out(made.answer(plays=(white,)), None)
    assert "is worth a closer look: you score 20 points in 100 games fewer" in below


def test_the_tree_stands_one_below_the_other() -> None:
    """A move that the line above tells is not told again; other moves are named."""
    white, *_ = student_tree.colours(made.answer(), None)
    (root,) = white.main
    second, sicilian = root.branches
    (third,) = second.branches
    (fourth,) = third.branches
    assert (root.way, root.move) == ("", "1. e4")
    assert (second.way, second.move) == ("1... e5", "2. Nf3")
    assert (sicilian.way, sicilian.move) == ("1... c5", "2. Nf3")
    assert third.also == "also Bb5 (2)"
    assert (fourth.way, fourth.move, fourth.counts) == ("3... Nf6", "4. Nc3", "14 of 17")
    assert (third.differs, fourth.few) == (True, True)
    black = list(student_tree.colours(made.answer(), None))[1]
    assert (black.heading, black.main[0].way, black.main[0].move) == (
        "With Black against 1. e4",
        "1. e4",
        "e5",
    )


def test_a_large_tree_is_cut_and_offered_whole() -> None:
    root = made.choice("", 0, made.own_move("", "e4", 60, 60, made.others(620, 1000)))
    replies = ("e5", "c5", "e6", "c6", "d6", "d5", "g6", "b6", "Nf6", "Nc6", "a6", "h6", "f6", "a5")
    rows = [
        made.choice(
            f"e4 {reply}", 1, made.own_move(f"e4 {reply}", "d4", 4, 4, made.others(3, 9, 3)),
            parent=root.key,
        )
        for reply in replies
    ]  # fmt: skip
    more = made.choice("d4 d5", 0, made.own_move("d4 d5", "c4", 9, 9, made.others(0, 0, 0)))
    moves = tuple(
        made.own_move("e4 h5", san, 2, 9, made.others(0, 0, 0))
        for san in ("d4", "Nf3", "Nc3", "a4")
    )
    many = made.choice("e4 h5", 1, *moves, parent=root.key)
    white = replace(made.white(), choices=(root, many, *rows, more))
    (colour,) = student_tree.colours(made.answer(plays=(white,)), None)
    assert colour.positions == 17
    assert [one.move for one in colour.main] == ["1. e4", "2. c4"]
    assert [one.way for one in colour.main[0].branches] == ["1... h5"]
    assert len(colour.whole[0].branches) == 15
    assert colour.whole[0].branches[0].also == "also Nf3 (2), Nc3 (2) and others (2)"
    assert colour.whole[0].branches[1].others == "3 of 9"
    assert colour.main[1].others == "nobody else here"
    assert "All 17 positions that you met at least 3 times" in page(made.answer(plays=(white,)))


def test_a_position_by_another_order_is_told_from_the_start() -> None:
    root = made.choice("", 0, made.own_move("", "d4", 9, 9, made.others(620, 1000)))
    odd = made.choice(
        "c4 d5 d4 Nf6",
        1,
        made.own_move("c4 d5 d4 Nf6", "Nc3", 4, 4, made.others(3, 9)),
        parent=root.key,
    )
    other = made.choice(
        "Nf3 d5 d4", 0, made.own_move("Nf3 d5 d4", "Nf6", 4, 4, made.others(3, 9, 3))
    )
    told = replace(made.white(), choices=(root, odd, other))
    (colour,) = student_tree.colours(made.answer(plays=(told,)), None)
    assert colour.main[0].branches[0].way == "1. c4 d5 2. d4 Nf6"
    assert (colour.main[1].way, colour.main[1].move) == ("1. Nf3 d5 2. d4", "Nf6")


def test_first_moves_that_are_rarely_met_are_named() -> None:
    rare = replace(made.black(), against="b3", games=1, choices=())
    assert student_tree.rarely_met(made.answer(plays=(made.white(), rare)), None) == (
        "Too rarely met for a tree: 1. b3 (1 game)."
    )
    assert student_tree.rarely_met(made.answer(), None) == ""


def test_where_the_lesson_was_left_is_told_with_how_often() -> None:
    told = list(said.lesson(made.lesson(), None))
    assert told[0] == "Of your 60 games with White, 40 entered the lesson."
    assert "You left it first in 18 of these games, your opponent in 20; in 2 nobody did" in told[1]
    assert told[2] == (
        "You left it 18 times; 14 of them at move 4, with 4. Nc3 instead of 4. d3 and 4 of them at "
        "move 4, with 4. O-O, a move that the lesson warns of, instead of 4. d3."
    )
    assert told[3] == (
        "Opponents left it most often with 3... Nd4 (9 times); the lesson has 3... Bc5 or 3... Nf6 "
        "there."
    )


def test_a_lesson_that_was_never_met_never_left_or_left_another_good_way() -> None:
    lesson = made.lesson()
    none = replace(lesson, games=0)
    assert list(said.lesson(none, None)) == [
        "There is no game of yours with White yet, the lesson's colour."
    ]
    assert "no game of yours" in text(page(made.answer(lesson=none)))
    other = replace(made.leaving(games=1), kind="alternative", san="Ng5")
    kept = replace(
        lesson,
        stayed=OwnMean(None, None, None, 0),
        ended=made.own(0, 40),
        by_student=(other,),
        by_opponent=(replace(made.leaving("opponent"), instead=()),),
    )
    told = list(said.lesson(kept, None))
    assert told[1] == "You left it first in 18 of these games, your opponent in 20."
    assert "1 time you chose 4. Ng5, which the lesson names as another good move." in told
    assert told[-1] == "Opponents left it most often with 3... Nd4 (14 times)."
    assert student_cards.left(kept) == ""
    assert "The arrow is" not in page(made.answer(lesson=kept))
    assert student_cards.left(None) == ""
    once = replace(
        lesson, entered=made.own(0, 60), by_student=(made.leaving(games=1),), by_opponent=()
    )
    assert (
        list(said.lesson(once, None))[1]
        == "You left it once; at move 4, with 4. Nc3 instead of 4. d3."
    )


def test_what_costs_is_told_once_and_what_is_over_comes_last() -> None:
    answer = made.answer(
        costs=Costs(3, 40, 12, (replace(made.cost(), over=True, since_then=9),)),
        mistakes=replace(
            made.answer().mistakes,
            made=(made.mistake(), replace(made.mistake(), key="1", over=True, since_then=4)),
        ),
    )
    told = student_cards.costs(answer, None)
    assert [one.heading for one in told] == ["2... f6 – a chance for you", "2... f6", "2... f6"]
    assert told[1].says[-1] == "You have stopped: not once in the 9 chances since 29 January 2026."
    assert told[2].says[-1] == "You have stopped: not once in the 4 chances since 29 January 2026."


def test_a_listed_mistake_has_a_card_of_its_own_where_no_cost_is_shown() -> None:
    unsure = replace(made.mistake(), key="1", answer=None, last=None)
    crowd = replace(unsure, key="2", others=made.others(1, 9, 2), answer="Nc6")
    over = replace(made.mistake("punished", 0, 5), over=True, last=None, since_then=3)
    answer = made.answer(
        costs=Costs(3, 40, 12, ()),
        mistakes=Listed("800-999", 3, (unsure, crowd), (over,), made.own(40, 62), made.own(0, 5)),
    )
    first, second, third = student_cards.costs(answer, None)
    assert "; the others in 17 % of 520. Many players" in first.says[0]
    assert len(first.says) == 1
    assert "of 31 chances. Many players" in second.says[0]
    assert second.says[1] == "To practise: 2... Nc6."
    assert "you took it in none of them" in third.says[0]
    assert third.says[1] == "Since then you found it every time, 3 of 3."
    nothing = Listed("800-999", 0, (), (), made.own(0, 0), made.own(0, 0))
    read = text(page(made.answer(costs=Costs(3, 4, 0, ()), mistakes=nothing)))
    assert "Nothing that you play can be told apart" in read
    assert "Mistakes of your level" not in read
    open_end = replace(
        made.cost(), line="", fen="", uci="e2e4", san="e4", side="white", lost_low=None
    )
    assert (
        "At the start you played it"
        in student_cards.costs(replace(answer, costs=Costs(3, 4, 1, (open_end,))), None)[0].says[0]
    )


def test_progress_claims_no_more_than_it_shows() -> None:
    over = (made.mistake(over=True), made.mistake("punished", over=True))
    told = list(said.better(made.better(), over, None))
    assert told == [
        "You used to play 2... f6 (20 of 31 times in all). Not once in the 9 chances since 29 "
        "January 2026.",
        "Since 1 February 2026 better: listed mistakes made, 0 of 10; before, 15 of 21.",
        "In the rest there is no clear change; for some of it there are too few games to say.",
    ]
    assert list(said.better(made.better(None), (), None)) == []


def test_without_a_sure_change_it_says_why() -> None:
    better = made.better()
    few = tuple(replace(change, few=True, better=None) for change in better.changes)
    (told,) = said.better(replace(better, changes=few), (), None)
    assert told == "Since 1 February 2026: no clear change; too few games to say."
    open_ = tuple(replace(change, few=False) for change in few)
    (told,) = said.better(replace(better, changes=open_), (), None)
    assert told.endswith("no clear change; what differs may well be chance.")
    assert better.after
    (told,) = said.better(replace(better, after=replace(better.after, games=0)), (), None)
    assert told == "There are no games on one side of 1 February 2026, so nothing to compare."
    sure = tuple(Change(one.measure, one.difference, False, False) for one in few)
    told_all = list(said.better(replace(better, changes=sure), (), None))
    assert len(told_all) == 5
    assert told_all[0].startswith("Since 1 February 2026 lower: score against")
    assert told_all[1].startswith("Since 1 February 2026 higher: listed mistakes made")
    assert "+0.07 a game; before, -0.06 a game" in told_all[0]
    assert "4.1 on average" in told_all[4]
    forever = replace(made.mistake(over=True), last=None)
    (told,) = said.better(made.better(None), (forever,), None)
    assert told.endswith("Not once in the 9 chances since.")


def test_what_to_practise_is_asked_and_answered() -> None:
    first, second, third = student_cards.tasks(made.practise(), None)
    assert first.turn == "Black to move"
    assert first.says == (
        "White has just played 2. Nf3.",
        "In 20 of 31 games you played 2... f6. Find a better move.",
    )
    assert second.answer == "4. d3 Bc5 5. c3"
    assert second.says[1] == (
        "In 14 of 17 games you left the lesson here, mostly with 4. Nc3. Find the move that the "
        "lesson teaches."
    )
    assert third.says[1].startswith("In 3 of 5 games the chance was missed.")
    start = replace(made.practise()[0], line="", side="white", played="d4", solution=("e2e4",))
    (only,) = student_cards.tasks([start], None)
    assert only.says == ("In 20 of 31 games you played 1. d4. Find a better move.",)


def test_a_worksheet_is_linked_and_nothing_to_practise_is_said_kindly() -> None:
    assert '<a href="sheet.html">' in page(worksheet="sheet.html")
    assert '<a href="edda' not in page(worksheet="edda-quill.html")
    assert "Nothing went wrong often enough" in text(page(made.answer(practise=())))


def test_short_games_show_the_moment_of_the_turn() -> None:
    won, lost = (
        *student_cards.turns(made.answer().won, None),
        *student_cards.turns(made.answer().lost, None),
    )
    assert won.heading == "Won with White in 14 moves, by mate"
    assert won.says[0] == (
        "4 March 2026: here your opponent played 2... f6, which lost material worth 5 pawns."
    )
    assert lost.says[0].startswith("4 March 2026: here you played 2... f6")
    assert lost.says[1].startswith("1. e4 e5 2. Nf3 f6 3. Nxe5")
    plain = made.game(True)
    vague = replace(plain, swing=None, row=replace(plain.row, date="????.??.??", sans=("e4",) * 60))
    (told,) = student_cards.turns([vague], None)
    assert told.says[0] == "here your opponent played 2... f6, and mate followed."
    assert told.says[1].endswith(" ...")


@pytest.mark.parametrize(
    ("over", "told"),
    [
        (OwnMean(0.06, 0.01, 0.11, 200), "6 points in 100 games more than your ratings"),
        (OwnMean(-0.06, -0.11, -0.01, 200), "6 points in 100 games fewer than your ratings"),
        (OwnMean(0.01, -0.02, 0.04, 2000), "about as many points as your ratings"),
        (OwnMean(0.01, -0.2, 0.2, 40), "neither clearly more nor clearly fewer points than your"),
    ],
)
def test_the_score_is_set_against_what_ratings_let_expect(over: OwnMean, told: str) -> None:
    assert told in (said.verdict(over) or "")


@pytest.mark.parametrize("over", [OwnMean(0.3, 0.1, 0.5, 12), OwnMean(None, None, None, 0)])
def test_of_few_rated_games_nothing_is_said(over: OwnMean) -> None:
    assert said.verdict(over) is None
    whole, *rest = made.short().results
    short = replace(made.short(), results=(replace(whole, over_expected=over), *rest))
    assert "Against these opponents" not in text(page(made.answer(short=short)))


def test_dates_ratings_and_paces_are_told_as_far_as_they_are_known() -> None:
    short = made.short()
    told = list(said.in_short(made.answer()))
    assert told[2] == (
        "Played from 2 December 2025 to 4 March 2026; rapid (110) and blitz (20); rating "
        "812, then 890."
    )
    alike = replace(short, first=short.last, last_rating=short.first_rating)
    told = list(said.in_short(made.answer(short=alike)))
    assert told[2] == "Played on 4 March 2026; rapid (110) and blitz (20); rating 812."
    bare = replace(
        short, first=None, last=None, first_rating=None, last_rating=None, set_up=2, both_sides=1
    )
    html = text(page(made.answer(short=bare)))
    assert "2 games began from a set-up position" in html
    assert "1 game left out, because the same name" in html
    assert "The games of E. Q. 130 games. In short" in html
    one = replace(short.results[1], games=2, unknown=2, wins=0, draws=0, losses=0)
    only = replace(
        bare, games=2, results=(replace(one, of="all"), one, replace(one, of="black", games=0))
    )
    assert said._games(only) == (
        "You played 2 games, 2 with White. You won 0, drew 0 and lost 0; of 2 the results are "
        "not known."
    )


@pytest.mark.parametrize(
    ("level", "by", "told"),
    [
        ("800-999", "ratings", "players rated 800-999, as you were in most"),
        ("under 800", "class", "players under 800, the level that your teacher gave"),
        ("unrated", "asked", "unrated players, the level that was chosen"),
        (None, "nothing", "players of every level: there is no rating"),
    ],
)
def test_the_others_are_named(level: str | None, by: str, told: str) -> None:
    assert told in said.the_others(made.answer(level=level, level_by=by))


def test_a_doubt_about_the_name_is_told_where_it_is_read() -> None:
    low, high = RatedGame(640, date(2026, 1, 2), None), RatedGame(1480, None, None)
    html = text(
        page(made.answer(doubts=(Doubt("places", low, high, 2), Doubt("itself", None, None, 1))))
    )
    assert (
        "Please check: This may be two people of one name: a rating of 640 (2 January 2026) and "
        "one of 1480 (a day not known) at two places."
    ) in html
    assert "In 1 game this name stands on both sides" in html
    assert "at two places" not in said.doubt(Doubt("ratings", low, high, 2))


def test_habits_are_left_out_of_few_games_and_defined_where_they_are_spoken_of() -> None:
    html = text(page())
    assert "Something to practise: castling by move 10" in html
    assert "Castled by move 10: the side has castled." in html
    assert "A piece left to be taken by move 15: the next" not in html
    few = replace(made.habits(), player_games=9)
    assert "Habits in the opening" not in text(page(made.answer(habits=few)))
    assert student_grids.habits(made.answer(habits=None), "initials") == ()


def test_moves_are_spelled_with_the_letters_of_a_language() -> None:
    html = student_page(made.answer(), replace(OPTIONS, letters="de"))
    read = text(html)
    assert "2... Sc6" in read
    assert "Nc6" not in re.sub(r"King.s Knight", "", read)


def test_the_page_tells_the_games_and_how_far_it_looks() -> None:
    read = text(page(made.answer(filters=Filters(pace=("rapid",)))))
    assert "Games 130 games of E. Q." in read
    assert "in the first 20 moves" in read
    assert words.count(130, "game") in read
