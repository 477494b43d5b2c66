"""What changed meanwhile: tool, gauge, person and lot of each place of a chart, as lanes on its axis. No Django."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from plant.codes import short

LANE, BAR = 25, 20
LOOKS_BACK = 10  # places before the first of a run: common practice, no source
LETTER = 7.6  # width of a letter, so that a word stands only where it has room


@dataclass(frozen=True)
class Span:
    """A stretch over which a lane kept one value; ``is_hit`` where something new came inside the look back. [px]"""

    left: float
    width: float
    word: str
    is_hit: bool


@dataclass(frozen=True)
class Lane:
    """One lane: its name, its height on the page, its stretches."""

    name: str
    top: float
    spans: tuple[Span, ...]


@dataclass(frozen=True)
class Lanes:
    """The lanes, and the bracket that looks back from the first of a run: from, to and how many places."""

    lanes: tuple[Lane, ...]
    bracket: tuple[float, float] | None
    looks_back: int
    height: float


def lay(
    values: Mapping[str, Sequence[str]], *, left: float, step: float, top: float, first_of_run: int | None = None
) -> Lanes:
    """Lanes below a chart.

    Parameters
    ----------
    values : mapping of name to a value for each place
        Empty where nothing is known of a place. A lane without any value is left out.
    left, step, top : float
        Where the first place begins, how wide a place is, and where the first lane stands. [px]
    first_of_run : int or None
        Place of the first of the run that is looked back from.

    Examples
    --------
    >>> lanes = lay({"Cutter": ["CT 5", "CT 5", "CT 7"]}, left=0, step=100, top=0, first_of_run=2)
    >>> [(span.word, span.is_hit) for span in lanes.lanes[0].spans]
    [('CT 5', False), ('CT 7', True)]
    """
    back = None if first_of_run is None else max(first_of_run - LOOKS_BACK, 0)
    lanes: list[Lane] = []
    for name, row in values.items():
        if any(row):
            spans = _spans(row, left, step, back, first_of_run)
            lanes.append(Lane(name, top + LANE * len(lanes), spans))
    bracket = None if back is None or first_of_run is None else (left + back * step, left + first_of_run * step)
    return Lanes(tuple(lanes), bracket, LOOKS_BACK, LANE * len(lanes))


def _spans(row: Sequence[str], left: float, step: float, back: int | None, first: int | None) -> tuple[Span, ...]:
    found, start = [], 0
    for value, places in groupby(row):
        count = len(list(places))
        # What comes round again is no change: moulds that take turns would light up every time.
        is_new = start > 0 and value not in row[:start]
        is_hit = is_new and back is not None and first is not None and back <= start <= first
        if value:
            width = count * step - 3
            word = next((w for w in (value, short(value)) if len(w) * LETTER + 14 <= width), "")
            found.append(Span(round(left + start * step + 1.5, 1), round(width, 1), word, is_hit))
        start += count
    return tuple(found)
