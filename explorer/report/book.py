"""A lesson's moves as a book sets them: main line in bold, variations indented or in brackets,
the teacher's words as prose, diagrams where the student must know the position."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import chess
import chess.pgn

from explorer.positions.lesson import WARNINGS, Lesson
from explorer.query.lesson_met import LessonMet, Replies
from explorer.report import book_words as said
from explorer.report.cards import Look
from explorer.report.diagram import Marks, diagram
from explorer.report.key_positions import key_positions
from explorer.report.privacy import Veil
from ingest.poskey import key_of

MOVES_A_PICTURE = 8  # positions learnt for each diagram, on average
LEAST_PICTURES, MOST_PICTURES = 3, 60
LONG_COMMENT = 160  # letters that deserve a diagram of their own
FAR = 4  # moves since the last one
FEW_MOVES = 3  # of a paragraph that a diagram does not break
SHORT_MOVES, SHORT_WORDS = 7, 110  # of a variation that fits in brackets
DEEPEST = 3  # indents


@dataclass(frozen=True, slots=True)
class Run:
    """A piece of text. ``kind``: "main" (a move of the main line), "move", "share", "few" (a
    share of too few games), "label" (``Not``), "mark" (a sign in words), "said" (the teacher's
    words) or "bracket"."""

    kind: str
    text: str
    gap: str  # before it


@dataclass(frozen=True, slots=True)
class Block:
    """A paragraph, or a diagram with its caption. ``depth``: how far it is indented; ``first``:
    a variation begins here."""

    depth: int
    runs: tuple[Run, ...] = ()
    first: bool = False
    drawing: str = ""
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """One game of the lesson's file; ``heading`` is empty where the lesson has but one."""

    heading: str
    blocks: tuple[Block, ...]


def parts(
    lesson: Lesson, met: LessonMet, look: Look, veil: Veil, large: bool = False
) -> tuple[Part, ...]:
    """The whole file, game by game."""
    most = min(max(len(lesson.taught) // MOVES_A_PICTURE, LEAST_PICTURES), MOST_PICTURES)
    pictured = {place.key for place in key_positions(lesson, met.in_100, most, apart=True)}
    several = len(lesson.games) > 1
    found = []
    for number, game in enumerate(lesson.games, start=1):
        setter = _Setter(lesson.side == "white", met, look, veil, large, pictured)
        setter.set_game(game)
        heading = said.part_title(number, veil.text(game.headers.get("Event", "?")))
        found.append(Part(heading if several else "", tuple(setter.blocks)))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Move:
    """A move in reading order: the board before it, how many variations it stands in, whether it
    begins one."""

    node: chess.pgn.ChildNode
    board: chess.Board
    depth: int
    begins: bool = False


@dataclass(frozen=True, slots=True)
class _Rest:
    """How a line goes on after a node."""

    node: chess.pgn.GameNode
    board: chess.Board
    depth: int


class _End:
    """The end of a variation."""


def _reading_order(rest: _Rest) -> Iterator[_Move | _End]:
    """Every move: after each the other moves in its place, then how the line goes on.

    By a stack of our own: variations may lie deep in one another.
    """
    todo: list[_Move | _Rest | _End] = [rest]
    while todo:
        step = todo.pop()
        if not isinstance(step, _Rest):
            yield step
        elif step.node.variations:
            todo += reversed([*_line(step)])


def _line(rest: _Rest) -> Iterator[_Move | _Rest | _End]:
    first, *others = rest.node.variations
    yield _Move(first, rest.board, rest.depth)
    for other in others:
        yield _Move(other, rest.board, rest.depth + 1, begins=True)
        yield _Rest(other, _after(rest.board, other), rest.depth + 1)
        yield _End()
    yield _Rest(first, _after(rest.board, first), rest.depth)


def _after(board: chess.Board, node: chess.pgn.ChildNode) -> chess.Board:
    board = board.copy(stack=False)
    board.push(node.move)
    return board


@dataclass
class _Setter:
    """Sets one game, move by move.

    ``pictured`` are the positions that get a diagram, until they have one. ``fresh``: the next
    move needs its number. ``opened`` tells of each open variation whether it stands in brackets.
    """

    white: bool
    met: LessonMet
    look: Look
    veil: Veil
    large: bool
    pictured: set[int]
    blocks: list[Block] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    opened: list[bool] = field(default_factory=list)
    first: bool = False
    fresh: bool = True
    since: int = FAR  # moves since the last diagram
    moves: int = 0  # in this paragraph

    @property
    def bracketed(self) -> bool:
        return any(self.opened)

    def set_game(self, game: chess.pgn.Game) -> None:
        """Set all of it, into ``blocks``."""
        board = game.board()
        self._say(game.comment)
        self._end_paragraph()
        if board.fen() != chess.STARTING_FEN:
            self._picture(board, None, said.BEGINS)
        for step in _reading_order(_Rest(game, board, 0)):
            if isinstance(step, _End):
                self._close()
            else:
                if step.begins:
                    self._open(step)
                self._move(step)
        self._end_paragraph()

    def _open(self, step: _Move) -> None:
        bracketed = self.bracketed or (step.depth > 1 and self._is_short(step))
        if bracketed:
            self._add("bracket", "(")
        else:
            self._end_paragraph()
            self.first = True
        self.opened.append(bracketed)
        self.fresh = True

    def _close(self) -> None:
        if self.bracketed:
            self._add("bracket", ")")
        else:
            self._end_paragraph()
        self.opened.pop()
        self.fresh = True

    def _move(self, step: _Move) -> None:
        board, node = step.board, step.node
        students = board.turn == self.white
        if students and not step.begins:
            self._picture_of(board, node)
        self._say(node.starting_comment)
        if students and (label := said.label(node.nags, alternative=step.begins)):
            self._add("label", label)
            self.fresh = True
        self._add("move" if step.depth else "main", self._numbered(board, node.move))
        self.fresh = False
        self.since += 1
        self.moves += 1
        if not students:
            self._share(self.met.replies.get(key_of(board)), node.move)
        for mark in said.marks(node.nags):
            self._add("mark", mark)
        self._say(node.comment)
        if len(node.comment) > LONG_COMMENT and self.since >= FAR and not self.bracketed:
            after = _after(board, node)
            if key_of(after) not in self.pictured:
                self._picture(after, node.move, said.after(board, node.move, self.look.letters))

    def _numbered(self, board: chess.Board, move: chess.Move) -> str:
        if board.turn or self.fresh:
            return said.move(board, move, self.look.letters)
        return said.san(board, move, self.look.letters)

    def _share(self, replies: Replies | None, move: chess.Move) -> None:
        if replies is not None and replies.of:
            self._add("few" if replies.few else "share", said.share(replies, move.uci()))
            self.fresh = True

    def _say(self, comment: str) -> None:
        if text := self.veil.text(said.comment(comment, self.look.letters)):
            self._add("said", text)
            self.fresh = True

    def _picture_of(self, board: chess.Board, node: chess.pgn.ChildNode) -> None:
        """A diagram before a taught move: of the positions chosen, and after what the teacher
        marks as a mistake."""
        key, before = key_of(board), node.parent
        if not isinstance(before, chess.pgn.ChildNode) or self.bracketed:
            return
        punished = before.nags & WARNINGS and self.since >= FAR
        if key not in self.pictured and not punished:
            return
        self.pictured.discard(key)
        met = said.met(self.met.in_100.get(key))
        reply = said.after(before.parent.board(), before.move, self.look.letters)
        self._picture(board, before.move, f"{reply}{met}")

    def _picture(self, board: chess.Board, last: chess.Move | None, caption: str) -> None:
        """A diagram, before the paragraph where that has only just begun."""
        if self.moves > FEW_MOVES:
            self._end_paragraph()
        drawing = diagram(board, self.look.view, Marks(last), standalone=False, large=self.large)
        self.blocks.append(Block(self._indent(), drawing=drawing, caption=caption))
        self.since = 0

    def _is_short(self, step: _Move) -> bool:
        """Whether a variation fits in brackets: few moves and words, and no diagram."""
        moves, letters = 1, len(step.node.comment) + len(step.node.starting_comment)
        rest = _Rest(step.node, _after(step.board, step.node), 0)
        for one in _reading_order(rest):
            if isinstance(one, _Move):
                moves += 1
                letters += len(one.node.comment) + len(one.node.starting_comment)
                if key_of(one.board) in self.pictured:
                    return False
            if moves > SHORT_MOVES or letters > SHORT_WORDS:
                return False
        return letters <= SHORT_WORDS

    def _indent(self) -> int:
        return min(len(self.opened), DEEPEST)

    def _add(self, kind: str, text: str) -> None:
        """Append a text; blanks stand between texts, but not inside brackets."""
        before = self.runs[-1].text if self.runs else "("
        gap = "" if before == "(" or text == ")" else " "
        self.runs.append(Run(kind, text, gap))

    def _end_paragraph(self) -> None:
        if self.runs:
            self.blocks.append(Block(self._indent(), tuple(self.runs), self.first))
            self.first = False
        self.runs, self.moves, self.fresh = [], 0, True
