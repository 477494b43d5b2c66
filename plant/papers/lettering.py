"""The letters of a paper: faces that are embedded, which of them has a letter, and what none of them has.

The text faces hold the Latin letters of Europe; the other face holds Greek, Cyrillic, Georgian, Armenian and signs.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from html import escape
from itertools import groupby
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

TEXT, STRONG, MONO, MONO_STRONG = "House", "House-Strong", "House-Mono", "House-Mono-Strong"
_OTHER, _OTHER_STRONG = "House-Other", "House-Other-Strong"
_FILES = {
    TEXT: "atkinson-hyperlegible/AtkinsonHyperlegibleNext_400Regular.ttf",
    STRONG: "atkinson-hyperlegible/AtkinsonHyperlegibleNext_700Bold.ttf",
    MONO: "atkinson-hyperlegible/AtkinsonHyperlegibleMono_400Regular.ttf",
    MONO_STRONG: "atkinson-hyperlegible/AtkinsonHyperlegibleMono_700Bold.ttf",
    _OTHER: "dejavu/DejaVuSans.ttf",
    _OTHER_STRONG: "dejavu/DejaVuSans-Bold.ttf",
}
_FOLDER = Path(__file__).resolve().parent.parent / "static" / "fonts"
_STANDS_IN = {TEXT: _OTHER, STRONG: _OTHER_STRONG, MONO: _OTHER, MONO_STRONG: _OTHER_STRONG}
# Set from right to left, which these papers can't do: letters in the wrong order would be read as other words.
_FROM_THE_RIGHT = frozenset({"R", "AL"})
LINE_ENDS = re.compile("\r\n|[\r\n\v\f\x85\u2028\u2029]")


@cache
def letters_of(face: str) -> frozenset[int]:
    """Letters that a face has; the face is made known to the PDF writer the first time."""
    font = TTFont(face, str(_FOLDER / _FILES[face]))
    pdfmetrics.registerFont(font)
    return frozenset(font.face.charToGlyph)


Runs = list[tuple[str, str]]  # face and text, in order


def width_of(runs: Runs, size: float) -> float:
    """Width of a line. [pt]"""
    return float(sum(pdfmetrics.stringWidth(text, face, size) for face, text in runs))


def draw_line(canvas: Canvas, x: float, y: float, runs: Runs, size: float) -> None:
    """Set one line, its base at a place. [pt]"""
    line = canvas.beginText(x, y)
    for face, text in runs:
        line.setFont(face, size)
        line.textOut(text)
    canvas.drawText(line)


class Lettering:
    """Sets the words of one paper, and notes the letters that no face has."""

    def __init__(self) -> None:
        self._lacking: set[str] = set()

    @property
    def lacking(self) -> list[str]:
        """What could not be printed: number and name of each letter, in order."""
        return [f"U+{ord(sign):04X} {unicodedata.name(sign, 'without a name')}" for sign in sorted(self._lacking)]

    def runs(self, line: str, face: str = TEXT) -> Runs:
        """One line cut into runs of one face each. A letter that no face has stands as its number in brackets."""
        line = unicodedata.normalize("NFC", line).replace("\t", "    ")
        if letters_of(face).issuperset(map(ord, line)):
            return [(face, line)] if line else []
        placed = [self._placed(cluster, face) for cluster in _clusters(line)]
        return [(name, "".join(text for _, text in run)) for name, run in groupby(placed, key=lambda one: one[0])]

    def marked(self, text: str, face: str = TEXT) -> str:
        """Text as mark-up for a paragraph of a face: line ends kept, runs of other faces marked."""
        return "<br/>".join(
            "".join(_mark_up(name, words, face) for name, words in self.runs(line, face))
            for line in LINE_ENDS.split(text)
        )

    def _placed(self, cluster: str, face: str) -> tuple[str, str]:
        """The face that has a letter with its marks, and what is set in it."""
        for name in (face, _STANDS_IN[face]):
            if letters_of(name).issuperset(map(ord, cluster)) and not _is_from_the_right(cluster):
                return name, cluster
        self._lacking.update(cluster)
        return face, "".join(f"[U+{ord(sign):04X}]" for sign in cluster)


def _mark_up(name: str, words: str, face: str) -> str:
    words = escape(words, quote=False)
    return words if name == face else f'<font name="{name}">{words}</font>'


def _is_from_the_right(cluster: str) -> bool:
    return unicodedata.bidirectional(cluster[0]) in _FROM_THE_RIGHT


def _clusters(line: str) -> Iterator[str]:
    """Letters, each with the marks that stand on it: the two must come out of one face."""
    cluster = ""
    for sign in line:
        if cluster and not unicodedata.combining(sign):
            yield cluster
            cluster = ""
        cluster += sign
    if cluster:
        yield cluster
