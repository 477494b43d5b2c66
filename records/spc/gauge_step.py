"""Whether readings are too coarse for the spread that a chart is to watch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class GaugeStep:
    """How the step of the readings stands to their spread."""

    step: float
    sigma: float
    distinct: int
    zero_ranges: int
    ranges: int

    @property
    def wide(self) -> bool:
        """The step is larger than the estimated sigma: limits are rough."""
        return self.step > self.sigma

    @property
    def coarse(self) -> bool:
        """The step is larger than sigma and most ranges are zero: the limits say nothing, nor does a point outside."""
        return self.wide and 2 * self.zero_ranges > self.ranges


def gauge_step(values: Sequence[float], ranges: Sequence[float | None], *, sigma: float, step: float) -> GaugeStep:
    """Readings against the step in which they are written.

    Parameters
    ----------
    values : sequence of float
        All readings. [u]
    ranges : sequence of float or None
        Moving ranges or ranges of subgroups. [u]
    sigma : float
        Estimated spread. [u]
    step : float
        Smallest difference that the gauge shows, or the readings were written with. [u]

    Notes
    -----
    A gauge that shows steps larger than sigma makes ranges zero, limits shrink and good points fall outside. The bound
    at one sigma is that of the first source; that most ranges are zero as well is asked for before signals are kept
    back, so that a real jump isn't hidden by a step only slightly too wide.

    References
    ----------
    .. [1] D. J. Wheeler, "The problem of chunky data", Quality Digest, 10 July 2023.
    .. [2] Etgar and Freund, Heliyon 9 (2023) e13655.

    Examples
    --------
    >>> gauge_step([41.0, 41.0, 41.1, 41.0], [None, 0.0, 0.1, 0.1], sigma=0.059, step=0.1).wide
    True
    """
    known = [r for r in ranges if r is not None]
    # A tenth of a step is nothing: ranges of written decimals are exact but for binary rounding.
    return GaugeStep(step, sigma, len(set(values)), sum(r < step / 10 for r in known), len(known))
