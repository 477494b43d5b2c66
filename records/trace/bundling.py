"""Many frames as few strands: neighbours by what the lot went into first are one bundle, a row of a table of its own.

Lengths in px, as in ``strands``. No Django.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Generic

from plant.codes import series_and_number, short

from .strands import AnyRow, Box, Line, Strands, carrier_of, curve, the_root

MOST_BUNDLES = 16
ROW = 52
WIDTH, BOX_LEFT, BOX_WIDTH, BOX_HEIGHT, ROOT_WIDTH = 330, 150, 128, 28, 84
THINNEST, THICKEST = 2.0, 10.0


@dataclass(frozen=True)
class Bundle(Generic[AnyRow]):
    """Rows that stand together in the table, with the first things on their ways, in order."""

    number: int
    rows: tuple[AnyRow, ...]
    carriers: tuple[str, ...]

    @property
    def sure(self) -> int:
        return sum(row.sure == "confirmed" for row in self.rows)

    @property
    def doubt(self) -> int:
        return len(self.rows) - self.sure

    @property
    def first(self) -> str:
        return self.carriers[0]

    @property
    def last(self) -> str:
        return self.carriers[-1]

    @property
    def word(self) -> str:
        """First and last of the carriers, as far as a box has room."""
        if not self.first:
            return "straight"
        if len(self.carriers) == 1:
            return short(self.first)
        if _is_series(self.first) and self.first[:5] == self.last[:5]:
            return f"{short(self.first)}–{series_and_number(self.last)[1]}"
        return f"{len(self.carriers)} on the way"


def bundles(rows: Sequence[AnyRow], most: int = MOST_BUNDLES) -> list[Bundle[AnyRow]]:
    """Rows in the order of ``by_carrier`` as at most so many bundles of about one size; no carrier stands in two.

    The size grows until few enough bundles hold all rows.
    """
    carried = [(carrier, tuple(held)) for carrier, held in groupby(rows, key=carrier_of)]
    size = max(1, -(-len(rows) // most))
    while len(packed := list(_pack(carried, size))) > most:
        size += max(1, size // 10)
    return [
        Bundle(n, tuple(row for _, held in few for row in held), tuple(carrier for carrier, _ in few))
        for n, few in enumerate(packed, start=1)
    ]


def _pack(
    carried: Sequence[tuple[str, tuple[AnyRow, ...]]], size: int
) -> Iterator[list[tuple[str, tuple[AnyRow, ...]]]]:
    """Neighbours together until the next would make them more than so many rows."""
    few: list[tuple[str, tuple[AnyRow, ...]]] = []
    count = 0
    for carrier, held in carried:
        if few and count + len(held) > size:
            yield few
            few, count = [], 0
        few.append((carrier, held))
        count += len(held)
    if few:
        yield few


def strands_of(bundled: Sequence[Bundle[AnyRow]], row_height: float = ROW) -> Strands:
    """One strand a bundle, as thick as it has rows; beside it a broken one for those that can't be ruled out."""
    height = row_height * len(bundled)
    most = max(len(bundle.rows) for bundle in bundled)
    lines, boxes = [], []
    for n, bundle in enumerate(bundled):
        top = row_height * (n + 0.5)
        boxes.append(Box(bundle.word, BOX_LEFT, top - BOX_HEIGHT / 2, BOX_WIDTH, BOX_HEIGHT))
        both = bundle.sure and bundle.doubt
        for count, is_broken in ((bundle.sure, False), (bundle.doubt, True)):
            if count:
                wide = round(THINNEST + (THICKEST - THINNEST) * count / most, 1)
                there = top + (0 if not both else 6 if is_broken else -6)
                lines.append(Line(curve(ROOT_WIDTH, height / 2, BOX_LEFT, there), is_broken, wide))
                lines.append(Line(curve(BOX_LEFT + BOX_WIDTH, there, WIDTH, there), is_broken, wide))
    return Strands(height, the_root(bundled[0].rows[0], height / 2), tuple(boxes), tuple(lines), WIDTH)


def counted_by(words: Sequence[str], most: int = 2) -> str:
    """What stands how often, the most first; what is left is counted.

    Examples
    --------
    >>> counted_by(["at Polish", "in Paint", "at Polish", "in Bond"])
    '2 at Polish, 1 in Paint, 1 elsewhere'
    """
    spots = Counter(words).most_common(most)
    told = [f"{n} {spot}" for spot, n in spots]
    rest = len(words) - sum(n for _, n in spots)
    return ", ".join([*told, *([f"{rest} elsewhere"] if rest else [])])


def _is_series(code: str) -> bool:
    pieces = code.split("-")
    return len(pieces) == 4 and len(code) == 14 and pieces[2].isdigit()
