"""A run's curves as panels on one clock: lines with gaps where the log has gaps, phases, time outside. No Django."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, isfinite, log10

from plant.pictures.scale import Scale, apart, ticks

WIDTH, LEFT, RIGHT = 920, 58, 176
PANEL, GAP = 240, 34
MOST_SERIES = 4
# From this ratio of highest to lowest on a panel goes by tens, or a pump-down would be a corner.
BY_TENS = 100
# Each pixel column keeps its lowest and highest reading, so that no spike is lost in drawing.
COLUMNS = 340
# Width of a sign in a phase's strip. [px]
SIGN = 7


@dataclass(frozen=True)
class Series:
    """One channel: its values at the panel's times, not a number where there is none. [unit of the panel]

    ``seconds`` are times of its own, of a run laid over others; ``dash`` then is the same for a run on all panels.
    """

    name: str
    values: Sequence[float]
    seconds: Sequence[float] | None = None
    dash: int | None = None


@dataclass(frozen=True)
class Limit:
    """A value that the recipe sets, and its words. [unit of the panel]"""

    value: float
    words: str


@dataclass(frozen=True)
class Mark:
    """A limit drawn across a panel, its words above it. [px]"""

    place: float
    text: float
    words: str


@dataclass(frozen=True)
class Line:
    """A drawn channel with its name and last value at the end."""

    name: str
    path: str
    dash: int
    label_at: float
    last: str


@dataclass(frozen=True)
class Panel:
    """One quantity on the clock of the run."""

    title: str
    unit: str
    top: float
    bottom: float
    lines: tuple[Line, ...]
    ticks: tuple[tuple[float, str], ...]
    limits: tuple[Mark, ...]

    @property
    def height(self) -> float:
        return self.bottom - self.top


@dataclass(frozen=True)
class Span:
    """A stretch of the clock with its name and how long it lasted. [px]"""

    name: str
    left: float
    width: float
    length: str = ""

    @property
    def right(self) -> float:
        return round(self.left + self.width, 1)

    @property
    def has_room(self) -> bool:
        """Whether the name can stand in it."""
        return self.width > 20 + SIGN * len(self.name)

    @property
    def has_room_for_length(self) -> bool:
        """Whether the length can stand behind the name."""
        return self.width > 36 + SIGN * len(self.name + self.length)


@dataclass(frozen=True)
class CurvePicture:
    """All panels, the clock below them, phases and time outside."""

    width: int
    height: float
    left: int
    right: int
    panels: tuple[Panel, ...]
    clock: tuple[tuple[float, str], ...]
    phases: tuple[Span, ...]
    outside: tuple[Span, ...]
    pieces: tuple[Span, ...]
    base: float


@dataclass(frozen=True)
class Quantity:
    """Channels of one quantity and unit, and what the recipe sets for them."""

    title: str
    unit: str
    series: Sequence[Series]
    limits: Sequence[Limit] = ()


@dataclass(frozen=True)
class Stretch:
    """A named stretch of the run. [s]"""

    name: str
    start: float
    stop: float


def draw(
    seconds: Sequence[float],
    quantities: Sequence[Quantity],
    phases: Sequence[Stretch] = (),
    outside: Sequence[Stretch] = (),
    pieces: Sequence[Stretch] = (),
) -> CurvePicture | None:
    """Panels of a run; nothing where the log holds no readings.

    Parameters
    ----------
    seconds : sequence of float
        Times of the rows from the first on; of runs laid over each other the first and the last of all. [s]
    quantities : sequence of Quantity
        What is drawn, at most four channels a panel; more are dealt out to panels of their own.
    phases, outside, pieces : sequence of Stretch
        Phases under the clock, time outside the recipe, and the pieces of a phase that was interrupted.
    """
    if len(seconds) < 2 or seconds[-1] <= seconds[0]:
        return None
    across = Scale(seconds[0], seconds[-1], LEFT, WIDTH - RIGHT)
    panels: list[Panel] = []
    top = 24.0
    for quantity in quantities:
        for first in range(0, len(quantity.series), MOST_SERIES):
            panel = _panel(quantity, quantity.series[first : first + MOST_SERIES], seconds, across, top)
            if panel is not None:
                panels.append(panel)
                top = panel.bottom + GAP
    if not panels:
        return None
    base = panels[-1].bottom
    return CurvePicture(
        width=WIDTH,
        height=base + (66 if phases else 34),
        left=LEFT,
        right=WIDTH - RIGHT,
        panels=tuple(panels),
        clock=tuple((across.at(t), _clock(t)) for t in _clock_ticks(seconds[0], seconds[-1])),
        phases=tuple(_span(stretch, across) for stretch in phases),
        outside=tuple(_span(stretch, across) for stretch in outside),
        pieces=tuple(_span(stretch, across) for stretch in pieces),
        base=base,
    )


def _panel(
    quantity: Quantity, series: Sequence[Series], seconds: Sequence[float], across: Scale, top: float
) -> Panel | None:
    known = [value for one in series for value in one.values if isfinite(value)]
    if not known:
        return None
    by_tens = min(known) > 0 and max(known) / min(known) >= BY_TENS
    raised = [
        replace(one, values=[log10(v) if isfinite(v) else v for v in one.values]) if by_tens else one for one in series
    ]
    levels = [log10(value) if by_tens else value for value in known]
    limits = [
        (log10(limit.value) if by_tens else limit.value, limit.words)
        for limit in quantity.limits
        if not by_tens or limit.value > 0
    ]
    # A limit far from what was read would press the curve flat: it stands in the table alone.
    reach = max(levels) - min(levels) or 1.0
    near = [(level, words) for level, words in limits if min(levels) - reach <= level <= max(levels) + reach]
    levels += [level for level, _ in near]
    low, high = min(levels), max(levels)
    room = (high - low) * 0.06 or abs(high) * 0.05 or 1.0
    bottom = top + PANEL
    up = Scale(low - room, high + room, bottom, top)
    lasts = [next((v for v in reversed(one.values) if isfinite(v)), low) for one in raised]
    labels = apart([up.at(last) for last in lasts], 17)
    lines = tuple(
        Line(
            one.name,
            path_of(seconds if one.seconds is None else one.seconds, one.values, across, up),
            one.dash or n,
            label,
            f"{10**last if by_tens else last:.4g}",
        )
        for n, (one, last, label) in enumerate(zip(raised, lasts, labels, strict=True), start=1)
    )
    drawn = tuple(Mark(up.at(level), up.at(level) - 5, words) for level, words in near)
    unit = f"{quantity.unit}, each line ten times the one below" if by_tens else quantity.unit
    return Panel(quantity.title, unit, top, bottom, lines, _marks(up, by_tens=by_tens), drawn)


def _marks(up: Scale, *, by_tens: bool) -> tuple[tuple[float, str], ...]:
    """Round values at the left of a panel; powers of ten where its scale goes by tens."""
    if by_tens:
        return tuple((up.at(power), f"{10.0**power:g}") for power in range(ceil(up.low), floor(up.high) + 1))
    return tuple((up.at(tick), f"{tick:g}") for tick in ticks(up.low, up.high))


def path_of(seconds: Sequence[float], values: Sequence[float], across: Scale, up: Scale) -> str:
    """Path of a channel, broken where a value is missing.

    Examples
    --------
    >>> path_of([0, 1, 2, 3], [0.0, 1.0, float("nan"), 1.0], Scale(0, 3, 0, 30), Scale(0, 1, 10, 0))
    'M0.0 10.0L10.0 0.0M30.0 0.0'
    """
    path, drawing = [], False
    for number in _kept(values):
        value = values[number]
        if not isfinite(value):
            drawing = False
            continue
        path.append(f"{'L' if drawing else 'M'}{across.at(seconds[number])} {up.at(value)}")
        drawing = True
    return "".join(path)


def _kept(values: Sequence[float]) -> list[int]:
    """Rows that are drawn: all of few; else the first, lowest, highest and every missing one of each column."""
    size = -(-len(values) // COLUMNS)
    if size <= 2:
        return list(range(len(values)))
    kept: set[int] = set()
    for start in range(0, len(values), size):
        rows = range(start, min(start + size, len(values)))
        known = [row for row in rows if isfinite(values[row])]
        kept.update(row for row in rows if not isfinite(values[row]))
        if known:
            kept.update((known[0], min(known, key=values.__getitem__), max(known, key=values.__getitem__)))
    return sorted(kept | {len(values) - 1})


def _span(stretch: Stretch, across: Scale) -> Span:
    left = min(max(across.at(stretch.start), LEFT), WIDTH - RIGHT)
    right = min(max(across.at(stretch.stop), left), WIDTH - RIGHT)
    return Span(stretch.name, left, round(right - left, 1), _lasting(stretch.stop - stretch.start))


def _lasting(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"


def _clock_ticks(start: float, stop: float) -> list[float]:
    """Round times: quarters of an hour and the like, five or six in all."""
    for step in (10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800, 86400):
        if (stop - start) / step <= 7:
            break
    first = int(-(-start // step))
    return [n * step for n in range(first, int(stop // step) + 1)]


def _clock(seconds: float) -> str:
    hours, rest = divmod(abs(round(seconds)), 3600)
    words = f"{hours}:{rest // 60:02d}" if rest % 60 == 0 else f"{hours}:{rest // 60:02d}:{rest % 60:02d}"
    return f"−{words}" if seconds < 0 else words
