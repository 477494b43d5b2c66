"""Axes of a chart: round ticks, and where a value stands on the page. No Django."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log10


@dataclass(frozen=True)
class Scale:
    """A straight scale from values to places on the page. [px]"""

    low: float
    high: float
    start: float
    stop: float

    def at(self, value: float) -> float:
        """Place of a value, to a tenth of a pixel."""
        return round(self.start + (value - self.low) * (self.stop - self.start) / ((self.high - self.low) or 1), 1)


def round_step(span: float, ticks: int) -> float:
    """Distance between ticks: 1, 2 or 5 times a power of ten.

    Examples
    --------
    >>> round_step(7.3, 5), round_step(0.19, 5)
    (2.0, 0.05)
    """
    if span <= 0:
        return 1.0
    rough = span / ticks
    power = 10.0 ** floor(log10(rough))
    return float(next(m for m in (1, 2, 5, 10) if m * power >= rough * 0.999) * power)


def ticks(low: float, high: float, count: int = 5) -> list[float]:
    """Round values between two.

    Examples
    --------
    >>> ticks(18.0, 83.0)
    [20.0, 40.0, 60.0, 80.0]
    """
    step = round_step(high - low, count)
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [round(n * step, 12) for n in range(first, last + 1)]


def apart(places: list[float], least: float) -> list[float]:
    """Places of labels moved so that none stands closer to the next than ``least``; their order stays. [px]

    Examples
    --------
    >>> apart([10.0, 12.0, 40.0], 10.0)
    [10.0, 20.0, 40.0]
    """
    moved = list(places)
    below = float("-inf")
    for number in sorted(range(len(places)), key=lambda n: places[n]):
        moved[number] = max(places[number], below + least)
        below = moved[number]
    return moved
