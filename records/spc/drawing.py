"""A chart of single values and one of their moving ranges, on the same axis. No Django."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from plant.pictures.scale import Scale, ticks

from .lanes import Lanes, lay
from .limits import Limits

WIDTH, LEFT, RIGHT = 920, 66, 122
TOP, TALL, LOW = 34, 240, 96
BETWEEN = 66
ABOVE_LANES = 88


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
    """Single values above, what changed meanwhile, moving ranges below. [px]"""

    width: int
    height: float
    left: int
    right: int
    single: Plot
    moving: Plot | None
    lanes: Lanes | None
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
    edges: Sequence[tuple[int, str]] = (),
    decimals: int = 2,
    meanwhile: Mapping[str, Sequence[str]] | None = None,
) -> ChartPicture | None:
    """Draw both charts, and between them what changed meanwhile; nothing without a value.

    Parameters
    ----------
    values, ranges : sequence of float or None
        Plotted values in the order made; None leaves its place empty. [u]
    limits : sequence of Limits
        Limits of each place. [u]
    starts, edges : sequence of places
        Where a new piece begins, and where another edge with its word stands: left of the place.
    meanwhile : mapping of name to a value for each place
        What each piece was made and measured with.
    """
    if not any(value is not None for value in values):
        return None
    # Each value stands in the middle of a place of its own, so that a wash or a lane ends between two.
    step = (WIDTH - RIGHT - LEFT) / len(values)
    across = Scale(0, max(len(values) - 1, 1), LEFT + step / 2, WIDTH - RIGHT - step / 2)
    single = _plot(values, limits, across, (TOP, TOP + TALL), names, [m for m in marks if not m.of_range], decimals)
    runs = [m for m in marks if m.last > m.first]
    lanes = _lanes(meanwhile, across, step, runs, marks)
    top = TOP + TALL + BETWEEN + (ABOVE_LANES - 20 + lanes.height if lanes else 0)
    below = None
    if any(r is not None for r in ranges):
        of_range = [m for m in marks if m.of_range]
        below = _plot(ranges, [moving] * len(ranges), across, (top, top + LOW), names, of_range, decimals, lowest=0.0)
    return ChartPicture(
        width=WIDTH,
        height=(top + LOW if below else TOP + TALL) + 30,
        left=LEFT,
        right=WIDTH - RIGHT,
        single=single,
        moving=below,
        lanes=lanes,
        washes=tuple(
            Wash(round(across.at(m.first) - step / 2, 1), round((m.last - m.first + 1) * step, 1)) for m in runs
        ),
        edges=tuple(
            (round(across.at(n) - step / 2, 1), word) for n, word in [*((n, "new piece") for n in starts if n), *edges]
        ),
        names=tuple((across.at(n), names[n]) for n in range(0, len(names), -(-len(names) // 9) or 1)),
    )


def _lanes(
    meanwhile: Mapping[str, Sequence[str]] | None,
    across: Scale,
    step: float,
    runs: Sequence[Mark],
    marks: Sequence[Mark],
) -> Lanes | None:
    """Lanes below the single values; they look back from the first of the newest run, else from the newest signal."""
    if not meanwhile or not any(any(row) for row in meanwhile.values()):
        return None
    newest = (runs or marks)[-1:]
    first = newest[0].first if newest else None
    return lay(meanwhile, left=across.start - step / 2, step=step, top=TOP + TALL + ABOVE_LANES, first_of_run=first)


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
        half = (across.start - LEFT) - 2
        left = round(across.at(start) - half, 1)
        right = WIDTH - RIGHT + 6 if is_last else round(across.at(n - 1) + half, 1)
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
