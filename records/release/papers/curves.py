"""A run's curves on paper: the same geometry as on its page, in black with a dash for each line."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.colors import Color
from reportlab.platypus import Flowable

from plant.papers.lettering import MONO, MONO_STRONG, STRONG, TEXT, width_of
from plant.papers.pen import BAND, LINE, SOFT, Pen, Stroke
from plant.papers.pieces import Paper
from plant.papers.rows import ANY_HEIGHT, Words
from records.runs.drawing import CurvePicture, Line, Panel, Span

SCALE = 0.55
ABOVE, CLOCK, PHASES = 24.0, 30.0, 32.0
LABEL = 13.5
ROOM_FOR_A_NAME = 132.0
_DASHES: dict[int, tuple[float, ...]] = {1: (), 2: (9, 4), 3: (2, 4), 4: (12, 3, 2, 3)}
_HATCH = Color(0.45, 0.45, 0.45)


class Curves(Flowable):
    """Panels of a run with their clock below; they go over the page panel by panel."""

    def __init__(self, paper: Paper, picture: CurvePicture, panels: Sequence[Panel] | None = None) -> None:
        super().__init__()
        self._paper, self._picture = paper, picture
        self._panels = tuple(panels if panels is not None else picture.panels)
        self._long = [line.name for panel in self._panels for line in panel.lines if not self._fits(line)]
        named = "; ".join(f"({number}) {name}" for number, name in enumerate(self._long, start=1))
        self._names: Words | None = paper.soft(named) if named else None

    def _fits(self, line: Line) -> bool:
        letters = self._paper.letters
        room = width_of(letters.runs(line.last, MONO_STRONG), LABEL) + width_of(letters.runs(line.name), LABEL)
        return room <= ROOM_FOR_A_NAME

    def _tall(self) -> float:
        below = CLOCK + (PHASES if self._picture.phases else 0)
        return (self._panels[-1].bottom - self._panels[0].top + ABOVE + below) * SCALE

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width = width
        self.height = self._tall() + (self._names.wrap(width, ANY_HEIGHT)[1] if self._names else 0.0)
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        for count in range(len(self._panels) - 1, 0, -1):
            first = Curves(self._paper, self._picture, self._panels[:count])
            if first.wrap(width, height)[1] <= height:
                return [first, Curves(self._paper, self._picture, self._panels[count:])]
        return []

    def draw(self) -> None:
        picture, first, base = self._picture, self._panels[0], self._panels[-1].bottom
        top = self.height + (first.top - ABOVE) * SCALE
        pen = Pen(self.canv, 0, top, SCALE, self._paper.letters)
        for panel in self._panels:
            self._draw_panel(pen, panel)
        for place, word in picture.clock:
            pen.line(f"M{place} {base}v5", Stroke(1, colour=SOFT))
            pen.words(place, base + 20, word, LABEL - 1, MONO, side="middle")
        for span in picture.phases:
            pen.box(span.left, base + 30, span.width, 22, fill=BAND)
            pen.line(f"M{span.left} {base + 30}v22")
            if width_of(pen.letters.runs(span.name), LABEL) + 10 < span.width:
                pen.words(span.left + 6, base + 46, span.name, LABEL)
        if self._names is not None:
            self._names.drawOn(self.canv, 0, 0)

    def _draw_panel(self, pen: Pen, panel: Panel) -> None:
        picture = self._picture
        pen.words(picture.left, panel.top - 8, ", ".join(w for w in (panel.title, panel.unit) if w), LABEL, STRONG)
        for span in picture.outside:
            _hatch(pen, span, panel)
        for place, word in panel.ticks:
            pen.line(f"M{picture.left} {place}H{picture.right}", Stroke(0.6, colour=LINE))
            pen.words(picture.left - 8, place + 5, word, LABEL - 1, MONO, side="right")
        pen.line(f"M{picture.left} {panel.top}V{panel.bottom}H{picture.right}", Stroke(1, colour=SOFT))
        for line in panel.lines:
            pen.line(line.path, Stroke(1.8, _DASHES[line.dash]))
            self._draw_label(pen, line)

    def _draw_label(self, pen: Pen, line: Line) -> None:
        left, base = self._picture.right + 10, line.label_at + 5
        pen.line(f"M{left} {line.label_at}h18", Stroke(1.8, _DASHES[line.dash]))
        pen.words(left + 24, base, line.last, LABEL, MONO_STRONG)
        after = width_of(pen.letters.runs(line.last, MONO_STRONG), LABEL)
        name = line.name if self._fits(line) else f"({self._long.index(line.name) + 1})"
        pen.words(left + 30 + after, base, name, LABEL, TEXT)


def _hatch(pen: Pen, span: Span, panel: Panel) -> None:
    """Time outside the recipe: hatched, and framed where it is short."""
    canvas = pen.canvas
    left, bottom = pen.place(span.left, panel.bottom)
    width, height = max(span.width, 2) * pen.scale, panel.height * pen.scale
    canvas.saveState()
    path = canvas.beginPath()
    path.rect(left, bottom, width, height)
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.setStrokeColor(_HATCH)
    canvas.setLineWidth(0.7)
    step = 5
    for n in range(-int(height // step) - 1, int(width // step) + 2):
        canvas.line(left + n * step, bottom, left + n * step + height, bottom + height)
    canvas.restoreState()
