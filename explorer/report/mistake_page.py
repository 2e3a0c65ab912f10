"""The page of a mistake: how often, at which level, whether it is punished, what it costs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import chess

from explorer.query.mistake_model import MistakeAnswer
from explorer.report import case_words as beside
from explorer.report import mistake_words as said
from explorer.report import punishment_words as punished
from explorer.report import words
from explorer.report.cards import Grid, Look, examples_of
from explorer.report.diagram import Marks, diagram
from explorer.report.grids import grids
from explorer.report.mistake_case import Case
from explorer.report.mistake_tables import (
    facts_table,
    helped_table,
    lead,
    levels_table,
    mistake_notes,
)
from explorer.report.privacy import Veil
from explorer.report.punishment_tables import answers_table, chances_table
from explorer.report.sentences import levels_of
from explorer.report.sheet import PageOptions, moves_read, sheet
from explorer.report.steps import step_bar
from explorer.report.strip import panel, strip_of


@dataclass(frozen=True, slots=True)
class Pictured:
    """One move of the line: its drawing and what the rules say of it."""

    move: str
    drawing: str
    says: str


@dataclass(frozen=True, slots=True)
class Found:
    """One step of the punishment: the move, found or not in words, and as a bar."""

    move: str
    says: str
    bar: str
    few: bool


@dataclass(frozen=True, slots=True)
class Section:
    """A heading, sentences, tables, and remarks below them."""

    heading: str
    says: tuple[str, ...]
    grids: tuple[Grid, ...]
    remarks: tuple[str, ...] = ()


def mistake_page(case: Case, options: PageOptions) -> str:
    """HTML of one mistake. The bytes depend on the arguments alone."""
    answer, look = case.answer, Look(options.view, options.letters, options.links)
    veil = Veil.over(answer, options.names)
    made = said.mistake_move(answer, look.letters)
    table = levels_table(answer, look.letters, options.names)
    pictures = tuple(_pictures(case, look))
    *levels, whole = answer.levels
    strip = strip_of(whole.rate, [(level.label, level.rate) for level in levels])
    return sheet(
        "mistake.html.j2",
        answer,
        options,
        title=heading(answer, look.letters),
        name=answer.name,
        notes=[*mistake_notes(answer, veil), *_more_notes(case)],
        reached=[("Went on from the position", f"{_games(answer)}, {moves_read(answer.source)}")],
        drawing=pictures[0].drawing,
        says=tuple(lead(answer)),
        strip=panel(strip, levels_of(answer.filters), made, _shown(answer)),
        made=made,
        share=words.percent(answer.levels[-1].rate.share),
        often=Section("How often, level by level", (), grids(table), table.notes),
        steps=tuple(_steps(answer, look.letters)),
        punished=_punished(answer, look.letters),
        pictures=pictures[1:] and pictures,
        facts=grids(facts_table(case, look.letters)),
        opinion=beside.opinion(case, look.letters),
        helped=tuple(_helped(answer)),
        orders=None,
        examples=examples_of(case.games, look, veil),
    )


def heading(answer: MistakeAnswer, letters: str | None = None) -> str:
    """``The mistake 2... f6 after 1. e4 e5 2. Nf3``."""
    made = said.mistake_move(answer, letters)
    line = words.spelled(answer.position.line or "", letters)
    return f"The mistake {made}{f' after {line}' if line else ''}"


def _games(answer: MistakeAnswer) -> str:
    rate = answer.levels[-1].rate
    return f"{words.count(rate.games, 'game')} by {words.count(rate.players, 'player')}"


def _shown(answer: MistakeAnswer) -> tuple[int, ...]:
    """The numbers of the levels in the strip: with a level filter, those that somebody is in."""
    chosen = bool(answer.filters.levels)
    return tuple(i for i, level in enumerate(answer.levels[:-1]) if level.rate.games or not chosen)


def _steps(answer: MistakeAnswer, letters: str | None) -> Iterator[Found]:
    if answer.punishment is None:
        return
    steps = answer.punishment.levels[-1].steps
    most = steps[0].found.games
    _, side = said.sides(answer)
    for step, says in zip(steps, punished.finds(answer.punishment, side, letters), strict=True):
        move = said.move(step.number, step.san, letters)
        yield Found(move, says, step_bar(step, most, move), step.found.few)


def _punished(answer: MistakeAnswer, letters: str | None) -> Section | None:
    """What stands below the steps; None without a punishment."""
    punishment = answer.punishment
    if punishment is None:
        return None
    errs, side = said.sides(answer)
    whole = punishment.levels[-1]
    table = chances_table(punishment, side, letters)
    answers = answers_table(punishment, errs, letters)
    sums = filter(
        None,
        (
            punished.chosen(punishment),
            punished.would_know(whole),
            punished.gain(punishment, side, letters),
            *punished.prepare_for(whole, errs, letters),
        ),
    )
    return Section(
        heading=f"Is it punished? {words.spelled(punishment.line, letters)}",
        says=tuple(sums),
        grids=(*grids(answers), *grids(table)),
        remarks=(f"The levels in these tables are those of {side}, who may punish.", *table.notes),
    )


def _pictures(case: Case, look: Look) -> Iterator[Pictured]:
    """The positions from the mistake on."""
    board = chess.Board(case.line.start)
    moves = zip(case.line.ucis, case.labels(look.letters), case.facts, strict=True)
    for i, (uci, label, fact) in enumerate(moves):
        move = board.push_uci(uci)
        if i >= case.mistake_at:
            drawn = diagram(board, look.view, Marks(move), standalone=False)
            yield Pictured(label, drawn, beside.fact(fact, look.letters))


def _helped(answer: MistakeAnswer) -> Iterator[Section]:
    for told in answer.helped:
        table = helped_table(told)
        yield Section(table.title, table.lead, grids(table), table.notes)


def _more_notes(case: Case) -> Iterator[str]:
    yield beside.FACTS_NOTE
