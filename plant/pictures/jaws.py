"""Jaws and dot: a value against its limits, as one small picture that is the same wherever it stands."""

from __future__ import annotations

from dataclasses import dataclass

HEIGHT = 24
# The band takes the middle of the picture; beyond it a value still has room to be seen outside.
BAND_PART = 0.56
DOT = 5


@dataclass(frozen=True)
class Jaws:
    """Where jaws, band and dot stand, from the left. [px] A limit that does not exist has no jaw."""

    width: int
    lower: float | None
    upper: float | None
    band_from: float
    band_to: float
    dot: float

    @property
    def band_width(self) -> float:
        return self.band_to - self.band_from


def jaws(value: int, lower: int | None, upper: int | None, width: int = 150) -> Jaws | None:
    """Picture of a value between its limits; none where it has no limit.

    Parameters
    ----------
    value, lower, upper : int
        Value and limits. [steps of one kind]
    width : int
        Width of the picture. [px]

    Notes
    -----
    A limit to one side stands a quarter of the width from its end; the same distance again stands for the limit's
    own size, since a single limit has no band to measure by. A value too far out stands at the edge.

    Examples
    --------
    >>> jaws(10, 0, 20, width=100).dot
    50.0
    >>> jaws(99, 0, 20, width=100).dot
    95
    """
    if lower is None and upper is None:
        return None
    if lower is not None and upper is not None:
        left, right = width * (1 - BAND_PART) / 2, width * (1 + BAND_PART) / 2
        # A band of no width still has two jaws, side by side.
        place = left + (value - lower) * (right - left) / ((upper - lower) or 1)
        return Jaws(width, left, right, left, right, _on_page(place, width))
    if upper is not None:
        jaw = width * 0.75
        place = jaw + (value - upper) * width / 2 / (abs(upper) or 1)
        return Jaws(width, None, jaw, 0, jaw, _on_page(place, width))
    assert lower is not None  # one of the two is there
    jaw = width * 0.25
    place = jaw + (value - lower) * width / 2 / (abs(lower) or 1)
    return Jaws(width, jaw, None, jaw, width, _on_page(place, width))


def _on_page(place: float, width: int) -> float:
    return min(max(place, DOT), width - DOT)
