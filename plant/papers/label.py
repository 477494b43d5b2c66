"""A label at its exact size: the symbol in whole dots of the printer, the code beside it, the figure of a serial.

70 x 32 mm, a usual size of label stock. A module is at least 0.38 mm, as small prints on dirty parts are hard to read,
and as large as the label has room for, up to 0.76 mm. Common practice, no source.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from plant.messages import Message
from plant.pictures.winding import winding

from .lettering import MONO_STRONG, STRONG, TEXT, Lettering, draw_line, width_of
from .pen import INK, Pen, draw_winding
from .symbol import QUIET, QUIET_OF_QR, dark_runs, data_matrix, qr_code

WIDTH, HEIGHT = 70.0, 32.0
LEAST_MODULE, LARGEST_MODULE, LARGEST_SIDE = 0.38, 0.76, 20.0
EDGE, GAP = 2.0, 3.0
# Dots an inch of the printers that labels are made for.
DENSITIES = (203, 300, 600)
CODE_SIZES = (15.0, 13.0, 11.0, 9.0, 7.0)


@dataclass(frozen=True)
class LabelFacts:
    """What stands on a label: the message of its symbol, the code, lines below it, whether a figure is drawn."""

    message: Message
    code: str
    lines: tuple[str, ...]
    foot: str
    has_figure: bool


def module_of(dots_an_inch: int, count: int, quiet: int = QUIET) -> float:
    """Side of a module in a symbol of so many by so many: as many whole dots as there is room for. [mm]

    Examples
    --------
    >>> [round(module_of(density, 24), 3) for density in DENSITIES]
    [0.751, 0.762, 0.762]
    """
    dot = 25.4 / dots_an_inch
    room = min(LARGEST_MODULE + 0.01, (HEIGHT - EDGE if quiet > QUIET else LARGEST_SIDE) / (count + 2 * quiet))
    return max(math.floor(room / dot), math.ceil(LEAST_MODULE / dot)) * dot


def label_pdf(facts: LabelFacts, dots_an_inch: int) -> bytes:
    """The file of one label; the same facts make the same bytes. Raises ``ValueError`` for no known density."""
    return labels_pdf([facts], dots_an_inch)


def labels_pdf(labels: Sequence[LabelFacts], dots_an_inch: int) -> bytes:
    """The file of several labels, a page each. Raises ``ValueError`` for none, or for no known density."""
    if dots_an_inch not in DENSITIES or not labels:
        raise ValueError(f"dots_an_inch must be one of {DENSITIES}, got {dots_an_inch}, for {len(labels)} labels")
    out, letters = io.BytesIO(), Lettering()
    canvas = Canvas(out, pagesize=(WIDTH * mm, HEIGHT * mm), invariant=1, pageCompression=1)
    canvas.setTitle(" ".join(["Label", *(facts.code for facts in labels)]))
    canvas.setCreator("Framethread")
    for facts in labels:
        modules, quiet = modules_of(facts.message)
        module = module_of(dots_an_inch, len(modules), quiet)
        side = _draw_symbol(canvas, modules, 25.4 / dots_an_inch, module, quiet)
        _draw_words(canvas, facts, letters, EDGE + side + GAP)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def modules_of(message: Message) -> tuple[list[list[bool]], int]:
    """Modules of the symbol that a message asks for, and its quiet zone on each side in modules."""
    if message.form == "link":
        return qr_code(str(message.text)), QUIET_OF_QR
    return data_matrix(message.text, is_gs1=message.form == "gs1"), QUIET


def _draw_symbol(canvas: Canvas, modules: Sequence[Sequence[bool]], dot: float, module: float, quiet: int) -> float:
    """The symbol in the middle of the label's height, its corner on a whole dot; its side, quiet zone and all. [mm]"""
    side = module * (len(modules) + 2 * quiet)
    left = math.ceil(EDGE / dot) * dot + module * quiet
    top = math.floor((HEIGHT - side) / 2 / dot) * dot + module * quiet
    canvas.setFillColor(INK)
    for y, row in enumerate(modules):
        for start, stop in dark_runs(row):
            base = HEIGHT - top - (y + 1) * module
            canvas.rect(
                (left + start * module) * mm, base * mm, (stop - start) * module * mm, module * mm, stroke=0, fill=1
            )
    return side


def _draw_words(canvas: Canvas, facts: LabelFacts, letters: Lettering, left: float) -> None:
    room = (WIDTH - left - EDGE) * mm
    runs = letters.runs(facts.code, MONO_STRONG)
    size = next((size for size in CODE_SIZES if width_of(runs, size) <= room), CODE_SIZES[-1])
    size = min(size, size * room / width_of(runs, size))
    line = HEIGHT - EDGE - 5.0
    draw_line(canvas, left * mm, line * mm, runs, size)
    for n, words in enumerate(facts.lines):
        _say(canvas, letters, (left, line - 4.2 - 3.6 * n), words, TEXT, 8.5, room)
    _say(canvas, letters, (left, EDGE + 0.6), facts.foot, STRONG, 6.5, room)
    if facts.has_figure:
        figure = winding(facts.code)
        scale = 0.42
        draw_winding(Pen(canvas, left * mm, (EDGE + 4.2) * mm + figure.height * scale, scale, letters), figure)


def _say(
    canvas: Canvas, letters: Lettering, place: tuple[float, float], words: str, face: str, size: float, room: float
) -> None:
    """One line, set smaller where it would be too wide."""
    runs = letters.runs(words, face)
    size = min(size, size * room / (width_of(runs, size) or 1))
    draw_line(canvas, place[0] * mm, place[1] * mm, runs, size)
