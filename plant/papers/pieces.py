"""Pieces of a paper: words, states with their shape, jaws, winding figure, symbol, notes, the block of a hold."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from plant.pictures.jaws import HEIGHT as JAWS_HEIGHT
from plant.pictures.jaws import jaws
from plant.pictures.states import STATES
from plant.pictures.winding import winding

from . import page
from .lettering import MONO_STRONG, Lettering
from .pen import INK, Pen, Stroke, draw_jaws, draw_shape, draw_winding
from .rows import ANY_HEIGHT, Cell, Column, Row, Rows, Words, cell_height, split_cell
from .symbol import QUIET, dark_runs, data_matrix

MARK_SIZE = 9.0
MARK_ROOM = 13.0
JAWS_WIDTH = 128
# A section begins only where some lines of it fit below its head.
ROOM_FOR_A_SECTION = 92.0


class Picture(Flowable):
    """A picture of a fixed size. [pt]"""

    def __init__(self, width: float, height: float, draw: Callable[[Pen], None], scale: float = 1.0) -> None:
        super().__init__()
        self.width, self.height, self._draw, self._scale = width, height, draw, scale

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        self._draw(Pen(self.canv, 0, self.height, self._scale))


class Beside(Flowable):
    """A mark at the left, and what is said at the right of it; what is said can go on over the page."""

    def __init__(self, mark: Picture | None, said: Cell, room: float = MARK_ROOM) -> None:
        super().__init__()
        self._mark, self._said, self._room = mark, said, room

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width = width
        self.height = max(cell_height(self._said, width - self._room), self._mark.height if self._mark else 0.0)
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        first, rest = split_cell(self._said, width - self._room, height)
        if not first or not rest or (self._mark and self._mark.height > height):
            return []
        return [Beside(self._mark, first, self._room), Beside(None, rest, self._room)]

    def _first_line(self) -> float:
        first = self._said[0] if self._said else None
        return float(first.leading) if isinstance(first, Words) else self._mark.height if self._mark else 0.0

    def draw(self) -> None:
        if self._mark is not None:
            self._mark.drawOn(self.canv, 0, self.height - self._first_line() / 2 - self._mark.height / 2)
        y = self.height
        for part in self._said:
            y -= part.wrapOn(self.canv, self.width - self._room, ANY_HEIGHT)[1]
            part.drawOn(self.canv, self._room, y)


class Barred(Flowable):
    """What is said behind a heavy bar, or in a block of its own where it is a hold."""

    def __init__(self, said: Cell, *, bar: float = 3.0, room: float = 10.0, is_hold: bool = False) -> None:
        super().__init__()
        self._said, self._bar, self._room, self._is_hold = said, bar, room, is_hold

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width = width
        self.height = cell_height(self._said, width - self._room - 6) + 10
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        first, rest = split_cell(self._said, width - self._room - 6, height - 10)
        if not first or not rest:
            return []
        told = {"bar": self._bar, "room": self._room, "is_hold": self._is_hold}
        return [Barred(first, **told), Barred(rest, **told)]  # type: ignore[arg-type]

    def draw(self) -> None:
        if self._is_hold:
            self._hatch()
        else:
            self.canv.rect(0, 0, self._bar, self.height, stroke=0, fill=1)
        y = self.height - 5
        for part in self._said:
            y -= part.wrapOn(self.canv, self.width - self._room - 6, ANY_HEIGHT)[1]
            part.drawOn(self.canv, self._room, y)

    def _hatch(self) -> None:
        """Nothing passes here: a hatched edge in a heavy frame."""
        canvas, edge = self.canv, self._room - 8
        canvas.saveState()
        path = canvas.beginPath()
        path.rect(0, 0, edge, self.height)
        canvas.clipPath(path, stroke=0, fill=0)
        canvas.setLineWidth(3)
        for n in range(-int(edge) - 8, int(self.height) + 8, 8):
            canvas.line(-2, n, edge + 2, n + edge + 4)
        canvas.restoreState()
        canvas.saveState()
        canvas.setLineWidth(1.6)
        canvas.rect(0.8, 0.8, self.width - 1.6, self.height - 1.6)
        canvas.line(edge, 0, edge, self.height)
        canvas.restoreState()


class Section(Words):
    """The head of a section; it stands in the list beside the pages."""

    def __init__(self, letters: Lettering, text: str) -> None:
        super().__init__(letters, text, page.SECTION)
        self._name = text

    def draw(self) -> None:
        self.canv.begin_section(self._name)
        super().draw()


class Lacking(Flowable):
    """The letters that could not be printed, known once everything before has been drawn."""

    def __init__(self, paper: Paper) -> None:
        super().__init__()
        self._paper = paper
        self._said: Words | None = None

    def _words(self) -> Words:
        named = "; ".join(self._paper.letters.lacking)
        none = "Every letter of the records could be printed."
        some = f"Letters that this paper could not print, so that it names them by number in brackets: {named}."
        return self._paper.soft(some if named else none)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self._said = self._said or self._words()
        return self._said.wrap(width, height)

    def split(self, width: float, height: float) -> list[Flowable]:
        self._said = self._said or self._words()
        return self._said.split(width, height)

    def draw(self) -> None:
        assert self._said is not None  # wrapping has made it
        self._said.drawOn(self.canv, 0, 0)


class Paper:
    """Makes the pieces of one paper with the letters of one paper."""

    def __init__(self) -> None:
        self.letters = Lettering()

    def words(self, text: str, style: ParagraphStyle = page.BODY) -> Words:
        return Words(self.letters, text, style)

    def strong(self, text: str) -> Words:
        return self.words(text, page.STRONG_BODY)

    def soft(self, text: str) -> Words:
        return self.words(text, page.SOFT_BODY)

    def code(self, text: str) -> Words:
        return self.words(text, page.CODE)

    def number(self, text: str) -> Words:
        return self.words(text, page.NUMBER)

    def section(self, text: str, room: float = 0) -> list[Flowable]:
        """The head of a section, with room for some lines below it, or for what it begins with. [pt]"""
        return [CondPageBreak(max(room, ROOM_FOR_A_SECTION)), Spacer(0, 11), Section(self.letters, text), Spacer(0, 3)]

    def part(self, text: str) -> list[Flowable]:
        """The head of a part of a section."""
        return [CondPageBreak(ROOM_FOR_A_SECTION / 2), Spacer(0, 6), self.words(text, page.SUBSECTION)]

    def table(self, columns: Sequence[Column], rows: Sequence[Row]) -> Rows:
        return Rows(self.letters, columns, rows)

    def facts(self, facts: Sequence[tuple[str, str]]) -> Rows:
        """Words and their values, one under the other."""
        rows = [
            Row([[self.words(word, page.FACT)], [self.words(value)]], has_rule=False, pad=0.6)
            for word, value in facts
            if value
        ]
        return self.table([Column("", 1), Column("", 4.2)], rows)

    def state(self, code: str, word: str = "") -> Beside:
        """A state: shape and word, never one alone."""
        name, _, own = STATES.get(code, ("signal", "ask", code.replace("-", " ").capitalize()))
        return Beside(shape_picture(name), [self.strong(word or own)])

    def note(self, *said: Flowable) -> Barred:
        return Barred(list(said))

    def jaws(self, value: int | None, lower: int | None, upper: int | None, verdict: str) -> Cell:
        """A value between its limits; nothing where one of them is missing."""
        picture = None if value is None else jaws(value, lower, upper, JAWS_WIDTH)
        if picture is None:
            return []
        scale = 0.55
        return [
            Picture(
                picture.width * scale,
                JAWS_HEIGHT * scale,
                lambda pen: draw_jaws(pen, picture, is_outside=verdict.startswith("outside")),
                scale,
            )
        ]

    def how_sure(self, *, is_sure: bool) -> Beside:
        """How sure it is that a thing is in another: a piece of strand, whole or broken, and the words."""
        stroke = Stroke(2.2) if is_sure else Stroke(2.2, (4, 3))
        strand = Picture(22, 8, lambda pen: pen.line("M0 6C8 6 14 2 22 2", stroke))
        return Beside(strand, [self.strong(STATES["confirmed" if is_sure else "possible"][2])], 28)


def shape_picture(name: str, *, size: float = MARK_SIZE) -> Picture:
    """The shape of a state. [pt]"""
    return Picture(size, size, lambda pen: draw_shape(pen, name), size / 20)


def winding_picture(serial: str, scale: float = 0.62) -> Picture:
    """The winding figure of a serial."""
    figure = winding(serial)
    return Picture(figure.width * scale, figure.height * scale, lambda pen: draw_winding(pen, figure), scale)


def symbol_picture(code: str, side: float) -> Picture:
    """The Data Matrix of a code in a square, quiet zone and all. [pt]"""
    modules = data_matrix(code)
    module = side / (len(modules) + 2 * QUIET)

    def draw(pen: Pen) -> None:
        for y, row in enumerate(modules):
            for start, stop in dark_runs(row):
                pen.box(start + QUIET, y + QUIET, stop - start, 1, fill=INK)

    return Picture(side, side, draw, module)


CODE_SIZES = ((22.0, 14), (16.0, 20), (12.0, 28), (8.6, 40))


def code_style(code: str) -> ParagraphStyle:
    """Style of a code as the head of a paper: as large as it fits."""
    size = next((size for size, most in CODE_SIZES if len(code) <= most), 8.6)
    return ParagraphStyle("serial", page.BODY, fontName=MONO_STRONG, fontSize=size, leading=size * 1.2)
