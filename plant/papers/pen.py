"""The pen of a paper: draws the plain geometry of ``plant.pictures`` on the page, as templates draw it on the screen.

Places are those of a picture: from its left and from its top, down. [px of the picture]
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from reportlab.lib.colors import Color, black, white
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from plant.pictures.jaws import DOT, HEIGHT, Jaws
from plant.pictures.shapes import Piece, shape
from plant.pictures.winding import Winding

from .lettering import TEXT, Lettering, draw_line, width_of

INK, SOFT, LINE, BAND = black, Color(0.2, 0.2, 0.2), Color(0.6, 0.6, 0.6), Color(0.93, 0.93, 0.93)
_PART = re.compile(r"([MmLlHhVvCcSsAaZz])|([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "A": 7, "Z": 0}


@dataclass(frozen=True)
class Stroke:
    """How a line is drawn: its width, its dashes and its colour."""

    width: float = 1.0
    dash: tuple[float, ...] = ()
    colour: Color = INK
    is_round: bool = False


class Pen:
    """Draws one picture, its top left corner at a place of the page. [pt; scale: pt a px]"""

    def __init__(
        self, canvas: Canvas, left: float, top: float, scale: float = 1.0, letters: Lettering | None = None
    ) -> None:
        self.canvas, self._left, self._top, self.scale = canvas, left, top, scale
        self.letters = letters or Lettering()

    def place(self, x: float, y: float) -> tuple[float, float]:
        """A place of the picture on the page."""
        return self._left + x * self.scale, self._top - y * self.scale

    def line(self, path: str, stroke: Stroke = Stroke()) -> None:
        """A path as a line."""
        self._take(stroke)
        self.canvas.drawPath(self._path(path), stroke=1, fill=0)
        self.canvas.restoreState()

    def area(self, path: str, colour: Color = INK, *, even_odd: bool = False) -> None:
        """A path filled."""
        self.canvas.saveState()
        self.canvas.setFillColor(colour)
        self.canvas.drawPath(self._path(path), stroke=0, fill=1, fillMode=0 if even_odd else 1)
        self.canvas.restoreState()

    def box(self, x: float, y: float, width: float, height: float, *, fill: Color | None, line: float = 0) -> None:
        """A box, filled or drawn."""
        self.canvas.saveState()
        if fill is not None:
            self.canvas.setFillColor(fill)
        self.canvas.setStrokeColor(INK)
        self.canvas.setLineWidth(line * self.scale)
        left, bottom = self.place(x, y + height)
        size = (width * self.scale, height * self.scale)
        self.canvas.rect(left, bottom, *size, stroke=int(line > 0), fill=int(fill is not None))
        self.canvas.restoreState()

    def dot(self, x: float, y: float, radius: float, *, fill: Color | None = INK, line: float = 0) -> None:
        """A dot or a ring."""
        self.canvas.saveState()
        if fill is not None:
            self.canvas.setFillColor(fill)
        self.canvas.setStrokeColor(INK)
        self.canvas.setLineWidth(line * self.scale)
        self.canvas.circle(*self.place(x, y), radius * self.scale, stroke=int(line > 0), fill=int(fill is not None))
        self.canvas.restoreState()

    def words(self, x: float, y: float, text: str, size: float, face: str = TEXT, *, side: str = "left") -> None:
        """A line of words, its base at a place. [size: px]"""
        runs = self.letters.runs(text, face)
        back = {"left": 0.0, "middle": 0.5, "right": 1.0}[side] * width_of(runs, size * self.scale)
        left, base = self.place(x, y)
        draw_line(self.canvas, left - back, base, runs, size * self.scale)

    def piece(self, piece: Piece) -> None:
        """One piece of a shape."""
        if piece.width:
            dash = tuple(float(part) for part in piece.dash)
            self.line(piece.path, Stroke(piece.width, dash, Color(0, 0, 0, alpha=piece.opacity)))
        else:
            self.area(piece.path, even_odd=piece.is_even_odd)

    def _take(self, stroke: Stroke) -> None:
        canvas = self.canvas
        canvas.saveState()
        canvas.setStrokeColor(stroke.colour)
        canvas.setLineWidth(stroke.width * self.scale)
        canvas.setLineCap(int(stroke.is_round))
        if stroke.dash:
            canvas.setDash([length * self.scale for length in stroke.dash])

    def _path(self, text: str) -> PDFPathObject:
        path = self.canvas.beginPath()
        _Tracer(path, self).follow(text)
        return path


@dataclass
class _Tracer:
    """Follows the path of a picture, letter by letter as SVG 1.1 section 8.3 has it; no quadratic curves."""

    path: PDFPathObject
    pen: Pen
    at: tuple[float, float] = (0.0, 0.0)
    start: tuple[float, float] = (0.0, 0.0)
    bend: tuple[float, float] | None = field(default=None)

    def follow(self, text: str) -> None:
        for letter, values in _steps(text):
            self._step(letter.upper(), self._absolute(letter, values))

    def _absolute(self, letter: str, values: Sequence[float]) -> list[float]:
        upper = letter.upper()
        x, y = self.at if letter.islower() else (0.0, 0.0)
        if upper == "H":
            return [values[0] + x, self.at[1]]
        if upper == "V":
            return [self.at[0], values[0] + y]
        if upper == "A":
            return [*values[:5], values[5] + x, values[6] + y]
        return [value + (y if n % 2 else x) for n, value in enumerate(values)]

    def _step(self, letter: str, v: list[float]) -> None:
        bend = None
        if letter == "M":
            self.path.moveTo(*self.pen.place(*v))
            self.start = (v[0], v[1])
        elif letter in "LHV":
            self.path.lineTo(*self.pen.place(*v))
        elif letter in "CS":
            if letter == "S":
                near = self.bend or self.at
                v = [2 * self.at[0] - near[0], 2 * self.at[1] - near[1], *v]
            self._curve(*v)
            bend = (v[2], v[3])
        elif letter == "A":
            for piece in _arc(self.at, v[0], bool(v[3]), bool(v[4]), (v[5], v[6])):
                self._curve(*piece)
        else:
            self.path.close()
            v = list(self.start)
        self.at, self.bend = (v[-2], v[-1]), bend

    def _curve(self, *v: float) -> None:
        self.path.curveTo(*self.pen.place(v[0], v[1]), *self.pen.place(v[2], v[3]), *self.pen.place(v[4], v[5]))


def _steps(text: str) -> Iterator[tuple[str, list[float]]]:
    """Letters of a path, each with the numbers it takes; a letter left out is the one before."""
    letter = ""
    values: list[float] = []
    for match in _PART.finditer(text):
        if match[1]:
            letter, values = match[1], []
            if letter in "Zz":
                yield letter, []
            continue
        values.append(float(match[2]))
        if len(values) == _TAKES[letter.upper()]:
            yield letter, values
            values = []
            letter = {"M": "L", "m": "l"}.get(letter, letter)


def _arc(
    start: tuple[float, float], radius: float, is_large: bool, is_clockwise: bool, stop: tuple[float, float]
) -> Iterator[tuple[float, ...]]:
    """An arc of a circle as curves of at most a quarter turn (SVG 1.1 appendix F.6.5, for equal radii)."""
    dx, dy = (start[0] - stop[0]) / 2, (start[1] - stop[1]) / 2
    half = math.hypot(dx, dy)
    radius = max(radius, half)
    away = math.sqrt(max(radius**2 - half**2, 0)) / (half or 1)
    away *= -1 if is_large == is_clockwise else 1
    cx, cy = (start[0] + stop[0]) / 2 + away * dy, (start[1] + stop[1]) / 2 - away * dx
    begin = math.atan2(start[1] - cy, start[0] - cx)
    turn = (math.atan2(stop[1] - cy, stop[0] - cx) - begin) % math.tau
    turn = turn if is_clockwise else turn - math.tau
    count = math.ceil(abs(turn) / (math.pi / 2) - 1e-9)
    step = turn / count
    reach = radius * 4 / 3 * math.tan(step / 4)
    for n in range(count):
        a, b = begin + n * step, begin + (n + 1) * step
        yield (
            cx + radius * math.cos(a) - reach * math.sin(a),
            cy + radius * math.sin(a) + reach * math.cos(a),
            cx + radius * math.cos(b) + reach * math.sin(b),
            cy + radius * math.sin(b) - reach * math.cos(b),
            cx + radius * math.cos(b),
            cy + radius * math.sin(b),
        )


def draw_shape(pen: Pen, name: str) -> None:
    """The shape of a state or the mark of a thing, 20 px square."""
    for piece in shape(name):
        pen.piece(piece)


def draw_jaws(pen: Pen, jaws: Jaws, *, is_outside: bool) -> None:
    """A value between its limits: grey band, black jaws, the dot; a dot outside is a ring with a cross."""
    middle = HEIGHT / 2
    pen.box(jaws.band_from, 4, jaws.band_width, 16, fill=BAND)
    pen.line(f"M0 {middle}H{jaws.width}", Stroke(1, colour=LINE))
    for jaw, foot in ((jaws.lower, 5), (jaws.upper, -5)):
        if jaw is not None:
            pen.line(f"M{jaw + foot} 2H{jaw}V22H{jaw + foot}", Stroke(2))
    if is_outside:
        pen.dot(jaws.dot, middle, DOT + 1, fill=white, line=2)
        pen.dot(jaws.dot, middle, 2)
    else:
        pen.dot(jaws.dot, middle, DOT)


def draw_winding(pen: Pen, winding: Winding) -> None:
    """The winding figure of a serial: strands behind in grey, the thick one, the ring."""
    for strand in winding.strands:
        colour = INK if strand.is_before else LINE
        pen.line(strand.path, Stroke(4.5 if strand.is_thick else 2, colour=colour, is_round=True))
    pen.line(f"M{winding.ring} 1V{winding.height - 1}M{winding.ring + 7} 1V{winding.height - 1}", Stroke(2.4))
