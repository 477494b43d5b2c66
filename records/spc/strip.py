"""How a band is used: each value as a dot in the band, with its mean and spread below. No Django."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from plant.pictures.scale import Scale

WIDTH, FLOOR, DOT, STACK = 396, 76, 3.1, 6.6
LEFT, RIGHT = 54, 342
MOST_HIGH = 9  # dots above each other; a taller stack is squeezed
BINS = 40


@dataclass(frozen=True)
class Strip:
    """The picture. A limit that does not exist has no jaw; the bar is None where the process is not steady. [px]"""

    dots: tuple[tuple[float, float], ...]
    lower: float | None
    upper: float | None
    band_from: float
    band_width: float
    aim: float | None
    mean: float
    bar: tuple[float, float] | None
    labels: tuple[tuple[float, str], ...]
    width: int = WIDTH


def draw_strip(
    values: Sequence[float],
    *,
    lower: float | None,
    upper: float | None,
    aim: float | None,
    sigma: float | None,
    decimals: int,
) -> Strip | None:
    """Picture of values in their band; none without a value or without a band.

    Parameters
    ----------
    values : sequence of float
        Values of one steady stretch. [u]
    lower, upper, aim : float or None
        Limits and nominal value; None where there is none. [u]
    sigma : float or None
        Spread inside the process, drawn as a bar of plus and minus three; None where it may not be shown. [u]
    """
    if not values or (lower is None and upper is None):
        return None
    mean = sum(values) / len(values)
    low = lower if lower is not None else min(*values, mean) if len(values) > 1 else values[0]
    high = upper if upper is not None else max(*values, mean) if len(values) > 1 else values[0]
    if low == high:
        high = low + 10.0**-decimals
    across = Scale(low, high, LEFT, RIGHT)
    edge_low = across.at(lower) if lower is not None else 4.0
    edge_high = across.at(upper) if upper is not None else WIDTH - 4.0
    marks = [(value, across.at(value)) for value in (lower, aim, upper) if value is not None]
    return Strip(
        dots=_stacked([_inside(across.at(value)) for value in values]),
        lower=None if lower is None else edge_low,
        upper=None if upper is None else edge_high,
        band_from=edge_low,
        band_width=round(edge_high - edge_low, 1),
        aim=None if aim is None else across.at(aim),
        mean=_inside(across.at(mean)),
        bar=None if sigma is None else (_inside(across.at(mean - 3 * sigma)), _inside(across.at(mean + 3 * sigma))),
        labels=tuple((place, f"{value:.{decimals}f}") for value, place in marks),
    )


def _inside(place: float) -> float:
    return round(min(max(place, DOT + 1), WIDTH - DOT - 1), 1)


def _stacked(places: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """Dots that share a place stand on each other."""
    size = WIDTH / BINS / 1.5
    bins = [round(place / size) * size for place in sorted(places)]
    tallest = max(Counter(bins).values())
    step = STACK * min(1.0, MOST_HIGH / tallest)
    seen: Counter[float] = Counter()
    found = []
    for place in bins:
        found.append((round(place, 1), round(FLOOR - DOT - 0.5 - seen[place] * step, 1)))
        seen[place] += 1
    return tuple(found)
