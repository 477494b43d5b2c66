"""The drawing from a lot to the frames that hold it: strands through what it went into first, row for row of a table.

Lengths in px, from the left and from the top of the table's body. No Django.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

from plant.codes import short

ROW = 40
WIDTH = 300
ROOT_WIDTH, ROOT_HEIGHT, BOX_WIDTH, BOX_HEIGHT = 84, 52, 92, 26
BOX_LEFT = 142
# Beyond this many rows strands can't be followed one by one.
MOST_ROWS = 40


class Row(Protocol):
    """A row of the table: the way to it, and whether it is sure."""

    @property
    def way(self) -> Sequence[str]: ...

    @property
    def sure(self) -> str | None: ...


AnyRow = TypeVar("AnyRow", bound=Row)


@dataclass(frozen=True)
class Box:
    """A thing that strands run through."""

    word: str
    left: int
    top: float
    width: int
    height: int


@dataclass(frozen=True)
class Line:
    """One strand; broken where it can't be ruled out."""

    path: str
    is_broken: bool
    thickness: float = 2


@dataclass(frozen=True)
class Strands:
    """The whole drawing."""

    height: float
    root: Box
    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]
    width: int = WIDTH


def by_carrier(rows: Iterable[AnyRow]) -> list[AnyRow]:
    """Rows in the order in which no two strands cross: by the first thing the lot went into."""
    return sorted(rows, key=lambda row: (carrier_of(row), row.way[-1]))


def strands(rows: Sequence[Row], row_height: float = ROW) -> Strands | None:
    """Drawing beside rows in the order of ``by_carrier``; none for no rows or too many to follow: those are bundled."""
    if not 0 < len(rows) <= MOST_ROWS:
        return None
    height = row_height * len(rows)
    middle = height / 2
    lines, boxes = [], []
    for carrier, places in _bunches(rows):
        top = row_height * (places[0] + places[-1] + 1) / 2
        is_broken = all(rows[n].sure != "confirmed" for n in places)
        if carrier:
            boxes.append(Box(short(carrier), BOX_LEFT, top - BOX_HEIGHT / 2, BOX_WIDTH, BOX_HEIGHT))
            lines.append(Line(curve(ROOT_WIDTH, middle, BOX_LEFT, top), is_broken))
        start, left = (top, BOX_LEFT + BOX_WIDTH) if carrier else (middle, ROOT_WIDTH)
        lines += [Line(curve(left, start, WIDTH, row_height * (n + 0.5)), rows[n].sure != "confirmed") for n in places]
    return Strands(height, the_root(rows[0], middle), tuple(boxes), tuple(lines))


def the_root(row: Row, middle: float) -> Box:
    """The lot from which all ways begin."""
    return Box(short(row.way[0]), 0, middle - ROOT_HEIGHT / 2, ROOT_WIDTH, ROOT_HEIGHT)


def carrier_of(row: Row) -> str:
    """The first thing on the way, where there is one between the lot and the row."""
    return row.way[1] if len(row.way) > 2 else ""


def _bunches(rows: Sequence[Row]) -> list[tuple[str, list[int]]]:
    """Places of the rows of each carrier, in order."""
    found: dict[str, list[int]] = {}
    for n, row in enumerate(rows):
        found.setdefault(carrier_of(row), []).append(n)
    return list(found.items())


def curve(left: float, top: float, right: float, bottom: float) -> str:
    """A strand from one place to another, level at both ends, as the path of an SVG."""
    bend = (right - left) * 0.55
    return f"M{left:g} {top:g}C{left + bend:g} {top:g} {right - bend:g} {bottom:g} {right:g} {bottom:g}"
