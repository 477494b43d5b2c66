"""The page of a paper: size, margins, styles, the head and the foot of each page, and the making of the file.

The file holds no clock and no name of who asked for it: the same facts make the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from reportlab.lib.colors import white
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from .lettering import MONO, MONO_STRONG, STRONG, TEXT, Lettering, draw_line, width_of
from .pen import INK, SOFT, Pen, Stroke

PAPER, CODE_FACE = white, MONO_STRONG
SIDE, HEAD, FOOT = 16 * mm, 20 * mm, 19 * mm
BODY = ParagraphStyle(
    "body", fontName=TEXT, fontSize=8.6, leading=11.4, textColor=INK, splitLongWords=1, allowWidows=1, allowOrphans=1
)
STRONG_BODY = ParagraphStyle("strong", BODY, fontName=STRONG)
SOFT_BODY = ParagraphStyle("soft", BODY, textColor=SOFT, fontSize=7.8, leading=10.2)
FACT = ParagraphStyle("fact", BODY, textColor=SOFT, fontSize=7.8)
NUMBER = ParagraphStyle("number", BODY, fontName=MONO, alignment=TA_RIGHT)
CODE = ParagraphStyle("code", BODY, fontName=MONO)
LABEL = ParagraphStyle("label", SOFT_BODY, fontSize=7.2, leading=9)
LABEL_RIGHT = ParagraphStyle("label-right", LABEL, alignment=TA_RIGHT)
SECTION = ParagraphStyle("section", BODY, fontName=STRONG, fontSize=12.5, leading=15.5)
SUBSECTION = ParagraphStyle("subsection", BODY, fontName=STRONG, fontSize=9.8, leading=12.6)
TITLE = ParagraphStyle("title", BODY, fontName=STRONG, fontSize=17, leading=20.5)
MARK = "M2 8c9 0 9 14 26 14M2 22c9 0 9-14 26-14"
MARK_THIN = "M2 15h8.5M16.5 15H28"


@dataclass(frozen=True)
class Heading:
    """What stands on every page: the works, what the paper is, what is known, what it rests on, a caution."""

    works: str
    what: str
    known: str
    rests_on: str
    caution: str
    is_wide: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """The sheet. [pt]"""
        return landscape(A4) if self.is_wide else A4

    @property
    def width(self) -> float:
        """Room between the margins. [pt]"""
        return float(self.size[0] - 2 * SIDE)


@dataclass(frozen=True)
class Made:
    """A paper that was made: the file, its pages, and the letters that it names by number."""

    content: bytes
    pages: int
    lacking: tuple[str, ...]


def make(heading: Heading, story: Sequence[Flowable], letters: Lettering) -> Made:
    """The file of a paper."""
    out = io.BytesIO()
    for words in (heading.works, heading.what, heading.known):
        letters.runs(words)  # what the edges of the pages lack is noted before the note on it is set
    width, height = heading.size
    document = BaseDocTemplate(
        out,
        pagesize=heading.size,
        invariant=1,
        pageCompression=1,
        title=heading.what,
        author=heading.works,
        creator="Framethread",
        lang="en",
    )
    frame = Frame(SIDE, FOOT, width - 2 * SIDE, height - HEAD - FOOT, 0, 0, 0, 0)
    document.addPageTemplates(PageTemplate(frames=[frame], pagesize=heading.size))

    def canvas(*args: Any, **kwargs: Any) -> _Counted:
        return _Counted(heading, letters, *args, **kwargs)

    document.build(list(story), canvasmaker=canvas)
    return Made(out.getvalue(), document.page, tuple(letters.lacking))


class _Counted(Canvas):
    """A canvas that knows how many pages there are when it writes the first."""

    def __init__(self, heading: Heading, letters: Lettering, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._heading, self._letters = heading, letters
        self._pages: list[dict[str, object]] = []
        self._outline: list[str] = []

    def begin_section(self, words: str) -> None:
        """Note that a section begins on this page, for the list that a reader sees beside the pages."""
        self._outline.append(words)

    def showPage(self) -> None:
        self._pages.append(dict(self.__dict__))
        self._outline = []
        self._startPage()

    def save(self) -> None:
        pages = list(self._pages)
        for number, page in enumerate(pages, start=1):
            self.__dict__.update(page)
            self._draw_edges(number, len(pages))
            self._list_sections(number)
            super().showPage()
        super().save()

    def _list_sections(self, page: int) -> None:
        for number, words in enumerate(self._outline):
            key = f"{page}-{number}"
            self.bookmarkPage(key)
            self.addOutlineEntry(words, key)

    def _draw_edges(self, number: int, count: int) -> None:
        width, height = self._heading.size
        right, heading = width - SIDE, self._heading
        pen = Pen(self, SIDE, height - 8.4 * mm, 0.42)
        pen.line(MARK, Stroke(2.6))
        pen.line(MARK_THIN, Stroke(1.6))
        top = height - 12.6 * mm
        self._say(SIDE + 17, top, heading.works, STRONG, 8.4, 170)
        self._say(right, top, heading.what, TEXT, 8.4, right - SIDE - 200, is_right=True)
        self.setLineWidth(1.2)
        self.line(SIDE, height - 15.4 * mm, right, height - 15.4 * mm)
        self.setLineWidth(0.5)
        self.line(SIDE, 16 * mm, right, 16 * mm)
        self._say(SIDE, 12.6 * mm, heading.known, TEXT, 7, right - SIDE)
        self._say(SIDE, 9.6 * mm, heading.rests_on, TEXT, 7, right - SIDE)
        self._say(SIDE, 6.6 * mm, heading.caution, STRONG, 7, right - SIDE - 90)
        self._say(right, 6.6 * mm, f"Page {number} of {count}", STRONG, 7.6, 90, is_right=True)

    def _say(
        self, x: float, y: float, words: str, face: str, size: float, room: float, *, is_right: bool = False
    ) -> None:
        """One line, set smaller where it would be too wide."""
        runs = self._letters.runs(words, face)
        size = min(size, size * room / (width_of(runs, size) or 1))
        draw_line(self, x - (width_of(runs, size) if is_right else 0), y, runs, size)
