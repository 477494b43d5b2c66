"""A chart of single values and one of their moving ranges, on the same axis. No Django."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plant.pictures.scale import Scale, ticks

from .limits import Limits

WIDTH, LEFT, RIGHT = 920, 66, 122
TOP, TALL, LOW = 34, 240, 96
BETWEEN = 66


@dataclass(frozen=True)
class Dot:
    """One value. ``letters`` are the signals it made full."""

    x: float
    y: float
    name: str
    letters: str = ""


@dataclass(frozen=True)
class Level:
    """A level line over a stretch of the chart, with what stands at its end."""

    kind: str
    left: float
    right: float
    y: float
    value: str
    word: str


@dataclass(frozen=True)
class Plot:
    """One of the two charts. [px]"""

    top: float
    bottom: float
    line: str
    dots: tuple[Dot, ...]
    levels: tuple[Level, ...]
    ticks: tuple[tuple[float, str], ...]


@dataclass(frozen=True)
class Wash:
    """A stretch of places that a signal runs over. [px]"""

    left: float
    width: float


@dataclass(frozen=True)
class ChartPicture:
    """Single values above, moving ranges below. [px]"""

    width: int
    height: float
    left: int
    right: int
    single: Plot
    moving: Plot | None
    washes: tuple[Wash, ...]
    edges: tuple[tuple[float, str], ...]
    names: tuple[tuple[float, str], ...]


@dataclass(frozen=True)
class Mark:
    """A signal on the drawing: its letter, the place that made it full, and the run it goes over."""

    letter: str
    at: int
    first: int
    last: int
    of_range: bool = False


def draw(
    values: Sequence[float | None],
    ranges: Sequence[float | None],
    limits: Sequence[Limits],
    moving: Limits,
    names: Sequence[str],
    marks: Sequence[Mark],
    *,
    starts: Sequence[int] = (),
    decimals: int = 2,
) -> ChartPicture | None:
    """Draw both charts; nothing without a value.

    Parameters
    ----------
    values, ranges : sequence of float or None
        Plotted values in the order made; None leaves its place empty. [u]
    limits : sequence of Limits
        Limits of each place. [u]
    """
    if not any(value is not None for value in values):
        return None
    across = Scale(0, max(len(values) - 1, 1), LEFT + 10, WIDTH - RIGHT - 10)
    single = _plot(values, limits, across, (TOP, TOP + TALL), names, [m for m in marks if not m.of_range], decimals)
    top = TOP + TALL + BETWEEN
    below = None
    if any(r is not None for r in ranges):
        of_range = [m for m in marks if m.of_range]
        below = _plot(ranges, [moving] * len(ranges), across, (top, top + LOW), names, of_range, decimals, lowest=0.0)
    step = (across.stop - across.start) / max(len(values) - 1, 1)
    runs = [m for m in marks if m.last > m.first]
    return ChartPicture(
        width=WIDTH,
        height=(top + LOW if below else TOP + TALL) + 30,
        left=LEFT,
        right=WIDTH - RIGHT,
        single=single,
        moving=below,
        washes=tuple(
            Wash(round(across.at(m.first) - step / 2, 1), round((m.last - m.first + 1) * step, 1)) for m in runs
        ),
        edges=tuple((round(across.at(n) - step / 2, 1), "new piece") for n in starts if n),
        names=tuple((across.at(n), names[n]) for n in range(0, len(names), -(-len(names) // 9) or 1)),
    )


def _plot(
    values: Sequence[float | None],
    limits: Sequence[Limits],
    across: Scale,
    edge: tuple[float, float],
    names: Sequence[str],
    marks: Sequence[Mark],
    decimals: int,
    lowest: float | None = None,
) -> Plot:
    known = [v for v in values if v is not None]
    reach = [*known, *(lim.lower for lim in limits), *(lim.upper for lim in limits)]
    low, high = min(reach) if lowest is None else lowest, max(reach)
    room = (high - low) * 0.08 or 1.0
    up = Scale(low if lowest is not None else low - room, high + room, edge[1], edge[0])
    letters: dict[int, str] = {}
    for mark in marks:
        letters[mark.at] = f"{letters.get(mark.at, '')} {mark.letter}".strip()
    dots = tuple(
        Dot(across.at(n), up.at(value), names[n], letters.get(n, ""))
        for n, value in enumerate(values)
        if value is not None
    )
    marked = tuple(
        (up.at(t), f"{t:.{decimals + 1 if high - low < 10**-decimals * 10 else decimals}f}")
        for t in ticks(up.low, up.high)
    )
    return Plot(edge[0], edge[1], _line(values, across, up), dots, _levels(limits, across, up, decimals), marked)


def _line(values: Sequence[float | None], across: Scale, up: Scale) -> str:
    path, drawing = [], False
    for n, value in enumerate(values):
        if value is None:
            drawing = False
            continue
        path.append(f"{'L' if drawing else 'M'}{across.at(n)} {up.at(value)}")
        drawing = True
    return "".join(path)


def _levels(limits: Sequence[Limits], across: Scale, up: Scale, decimals: int) -> tuple[Level, ...]:
    """Centre and limits of each stretch that shares them; the last stretch carries value and name."""
    found: list[Level] = []
    start = 0
    for n in range(1, len(limits) + 1):
        if n < len(limits) and limits[n] == limits[start]:
            continue
        is_last = n == len(limits)
        left = across.at(start) - 10
        right = across.at(n - 1) + (20 if is_last else 0)
        for kind, value in (
            ("upper", limits[start].upper),
            ("centre", limits[start].centre),
            ("lower", limits[start].lower),
        ):
            if kind == "lower" and value <= 0 <= up.low:
                continue  # a moving range has no lower limit
            word = {"upper": "upper limit", "centre": "centre", "lower": "lower limit"}[kind]
            told = (f"{value:.{decimals + 1}f}", word) if is_last else ("", "")
            found.append(Level(kind, left, right, up.at(value), *told))
        start = n
    return tuple(found)
