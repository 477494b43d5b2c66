"""The wide gauge of a floor screen: jaws on a scale with round ticks, and a dot where a reading stands. No Django."""

from __future__ import annotations

from dataclasses import dataclass

from . import scale
from .jaws import jaws

WIDTH = 780


@dataclass(frozen=True)
class Gauge:
    """Where jaws, ticks and dot stand, from the left. [px] A value v stands at ``start + (v - origin) * per_unit``."""

    lower: float | None
    upper: float | None
    band_from: float
    band_to: float
    ticks: tuple[float, ...]
    origin: float
    start: float
    per_unit: float
    dot: float | None
    aim: float | None
    width: int = WIDTH

    @property
    def band_width(self) -> float:
        return self.band_to - self.band_from


def gauge(
    lower: float | None, upper: float | None, *, value: float | None = None, aim: float | None = None
) -> Gauge | None:
    """Picture of a band with a reading in it, if there is one; none where nothing limits it.

    Parameters
    ----------
    lower, upper, value, aim : float
        Limits, the reading, and what is aimed at. [one unit for all]

    Notes
    -----
    The places are those of the small jaws, so that one picture is learnt for both.

    Examples
    --------
    >>> picture = gauge(55.0, 65.0, value=60.0)
    >>> picture.dot, [round(tick) for tick in picture.ticks][:2]
    (390.0, [41, 128])
    """
    at = lower if lower is not None else upper
    if at is None:
        return None
    steps = 10**6  # the small jaws take whole steps
    low, high = (None if limit is None else round(limit * steps) for limit in (lower, upper))
    near = jaws(round(at * steps), low, high, WIDTH)
    span = (upper - lower) if lower is not None and upper is not None else abs(at)
    far = jaws(round((at + (span or 1) / 100) * steps), low, high, WIDTH)
    assert near is not None  # it has a limit
    assert far is not None
    per_unit = (far.dot - near.dot) * 100 / (span or 1)
    first, last = at - (near.dot - 20) / per_unit, at + (WIDTH - 20 - near.dot) / per_unit
    places = tuple(round(near.dot + (tick - at) * per_unit, 1) for tick in scale.ticks(first, last, 16))
    shown = None if value is None else jaws(round(value * steps), low, high, WIDTH)
    aimed = None if aim is None else round(near.dot + (aim - at) * per_unit, 1)
    dot = shown.dot if shown else None
    return Gauge(near.lower, near.upper, near.band_from, near.band_to, places, at, near.dot, per_unit, dot, aimed)
