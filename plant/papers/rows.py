"""Tables that run over pages: the head stands on each, a row goes over whole, and one too tall for a page is split.

No library's table is used, since theirs grow slow with thousands of rows and cut a remark longer than a page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph

from .lettering import LINE_ENDS, Lettering, draw_line, width_of
from .page import LABEL, LABEL_RIGHT
from .pen import INK, LINE

PAD, GAP = 3.0, 7.0
ANY_HEIGHT = 1e9
# A taller row begins where it stands and goes on over the page; a lower one goes over whole.
TALL = 300.0
LEAST_TO_BEGIN = 40.0


class Words(Flowable):
    """Words in one style: a line where they fit in one, else a paragraph that can be split."""

    def __init__(self, letters: Lettering, text: str, style: ParagraphStyle) -> None:
        super().__init__()
        self._letters, self._text, self._style = letters, text, style
        self._runs: list[tuple[str, str]] | None = None
        self._paragraph: Paragraph | None = None

    @property
    def leading(self) -> float:
        """Height of one line. [pt]"""
        return float(self._style.leading)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width = width
        if self._is_line(width):
            return width, self._style.leading if self._text else 0
        if self._paragraph is None:
            self._paragraph = Paragraph(self._letters.marked(self._text, self._style.fontName), self._style)
        return self._paragraph.wrap(width, height)

    def split(self, width: float, height: float) -> list[Flowable]:
        if self._is_line(width):
            return [self] if height >= self._style.leading else []
        self.wrap(width, height)
        assert self._paragraph is not None  # wrapping has made it
        return list(self._paragraph.split(width, height))

    def draw(self) -> None:
        self.draw_at(self.canv, 0, 0)

    def draw_at(self, canvas: Canvas, x: float, y: float) -> None:
        """Draw with the lower left corner at a place; quicker than ``drawOn``, since most words are one line. [pt]"""
        if self._runs is None:
            assert self._paragraph is not None  # wrapping has made it
            self._paragraph.drawOn(canvas, x, y)
            return
        style = self._style
        left = self.width - width_of(self._runs, style.fontSize) if style.alignment else 0
        is_soft = style.textColor != INK
        if is_soft:
            canvas.setFillColor(style.textColor)
        draw_line(canvas, x + left, y + style.leading - style.fontSize, self._runs, style.fontSize)
        if is_soft:
            canvas.setFillColor(INK)

    def _is_line(self, width: float) -> bool:
        if self._runs is None and self._paragraph is None and not LINE_ENDS.search(self._text):
            runs = self._letters.runs(self._text, self._style.fontName)
            self._runs = runs if width_of(runs, self._style.fontSize) <= width else None
        return self._runs is not None


Cell = list[Flowable]


@dataclass(frozen=True)
class Column:
    """A column: its head, and its share of the width."""

    head: str
    share: float
    is_number: bool = False


@dataclass
class Row:
    """A row: a cell for each column, and what stands below them over the whole width."""

    cells: Sequence[Cell]
    below: Cell = field(default_factory=list)
    has_rule: bool = True
    pad: float = PAD
    least: float = 0.0  # height where its content takes less [pt]
    _heights: dict[float, float] = field(default_factory=dict, repr=False)

    def height(self, widths: Sequence[float]) -> float:
        """Height at the widths of the columns. [pt]"""
        return max(self.needed(widths), self.least)

    def needed(self, widths: Sequence[float]) -> float:
        """Height of its content with some air. [pt]"""
        whole = sum(widths) + GAP * (len(widths) - 1)
        if whole not in self._heights:
            tallest = max((cell_height(c, w) for c, w in zip(self.cells, widths, strict=True)), default=0.0)
            self._heights[whole] = tallest + cell_height(self.below, whole) + 2 * self.pad
        return self._heights[whole]

    def split(self, widths: Sequence[float], height: float) -> tuple[Row, Row] | None:
        """This row up to a height, and the rest of it; none where nothing fits."""
        whole = sum(widths) + GAP * (len(widths) - 1)
        room = height - 2 * self.pad
        tallest = max((cell_height(c, w) for c, w in zip(self.cells, widths, strict=True)), default=0.0)
        if self.below and tallest <= room:
            first, rest = split_cell(self.below, whole, room - tallest)
            if not first:
                return None
            return Row(self.cells, first, False, self.pad), Row([[] for _ in self.cells], rest, self.has_rule, self.pad)
        halves = [split_cell(c, w, room) for c, w in zip(self.cells, widths, strict=True)]
        if not any(first for first, _ in halves):
            return None
        return (
            Row([first for first, _ in halves], [], False, self.pad),
            Row([rest for _, rest in halves], self.below, self.has_rule, self.pad),
        )


def cell_height(cell: Cell, width: float) -> float:
    """Height of what stands in a cell. [pt]"""
    return sum(float(part.wrap(width, ANY_HEIGHT)[1]) for part in cell)


def split_cell(cell: Cell, width: float, height: float) -> tuple[Cell, Cell]:
    """What of a cell fits into a height, and the rest."""
    for number, part in enumerate(cell):
        needed = part.wrap(width, ANY_HEIGHT)[1]
        if needed <= height:
            height -= needed
            continue
        pieces = part.split(width, height)
        if len(pieces) == 2:
            return [*cell[:number], pieces[0]], [pieces[1], *cell[number + 1 :]]
        return list(cell[:number]), list(cell[number:])
    return list(cell), []


class Rows(Flowable):
    """A table."""

    def __init__(self, letters: Lettering, columns: Sequence[Column], rows: Sequence[Row]) -> None:
        super().__init__()
        self._letters, self._columns, self._rows = letters, columns, rows
        head = [[Words(letters, c.head, LABEL_RIGHT if c.is_number else LABEL)] for c in columns]
        self._head = Row(head) if any(column.head for column in columns) else None

    def widths(self, width: float) -> list[float]:
        """Widths of the columns. [pt]"""
        room = width - GAP * (len(self._columns) - 1)
        whole = sum(column.share for column in self._columns)
        return [room * column.share / whole for column in self._columns]

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width = width
        widths = self.widths(width)
        self.height = self._head_height(widths)
        for row in self._rows:
            self.height += row.height(widths)
            if self.height > height:
                break  # it will be split; what lies beyond is measured where it stands
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        widths = self.widths(width)
        left = height - self._head_height(widths)
        for number, row in enumerate(self._rows):
            tall = row.height(widths)
            if tall <= left:
                left -= tall
                continue
            before, after = list(self._rows[:number]), list(self._rows[number:])
            halves = row.split(widths, left) if tall > TALL and left > LEAST_TO_BEGIN else None
            if halves is not None:
                before, after = [*before, halves[0]], [halves[1], *after[1:]]
            return [self._with(before), self._with(after)] if before else []
        return [self]

    def _with(self, rows: Sequence[Row]) -> Rows:
        return Rows(self._letters, self._columns, rows)

    def _head_height(self, widths: Sequence[float]) -> float:
        return self._head.height(widths) if self._head else 0.0

    def draw(self) -> None:
        widths = self.widths(self.width)
        top = self.height
        if self._head is not None:
            top = self._draw_row(self._head, widths, top)
            self._rule(top, 1.0)
        for number, row in enumerate(self._rows):
            top = self._draw_row(row, widths, top)
            if row.has_rule and number < len(self._rows) - 1:
                self._rule(top, 0.4)

    def _rule(self, y: float, width: float) -> None:
        self.canv.setStrokeColor(INK if width >= 1 else LINE)
        self.canv.setLineWidth(width)
        self.canv.line(0, y, self.width, y)
        self.canv.setStrokeColor(INK)

    def _draw_row(self, row: Row, widths: Sequence[float], top: float) -> float:
        bottom = top - row.height(widths)
        # What is lower than its row stands in the middle of it.
        top -= (row.height(widths) - row.needed(widths)) / 2
        left = tallest = 0.0
        for cell, width in zip(row.cells, widths, strict=True):
            tallest = max(tallest, self._draw_cell(cell, width, left, top - row.pad))
            left += width + GAP
        self._draw_cell(row.below, self.width, 0, top - row.pad - tallest)
        return bottom

    def _draw_cell(self, cell: Cell, width: float, left: float, top: float) -> float:
        """Draw what stands in a cell downwards; its height."""
        y = top
        for part in cell:
            y -= part.wrap(width, ANY_HEIGHT)[1]
            if isinstance(part, Words):
                part.draw_at(self.canv, left, y)
            else:
                part.drawOn(self.canv, left, y)
        return top - y
