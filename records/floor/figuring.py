"""How few touches and seconds a logged step takes, in numbers. No Django.

The bars (four touches, twenty seconds) are those that the floor was drawn for: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

MOST_TOUCHES, MOST_SECONDS = 4, 20.0


@dataclass(frozen=True)
class Figures:
    """Touches [-] and seconds [s] of some logged steps, and which share [-] of them stayed below each bar."""

    count: int
    touches_median: float
    touches_90: float
    seconds_median: float
    seconds_90: float
    few_touches: float
    quick: float


def figures_of(touches: Sequence[int], seconds: Sequence[float]) -> Figures:
    """Figures of at least one step, of which touches and seconds stand in the same order.

    Examples
    --------
    >>> found = figures_of([3, 4, 9], [8.0, 12.0, 31.0])
    >>> found.count, found.touches_median, round(found.few_touches, 2)
    (3, 4.0, 0.67)
    """
    if not touches or len(touches) != len(seconds):
        raise ValueError(f"touches and seconds must stand in pairs, got {len(touches)} and {len(seconds)}")
    count = len(touches)
    return Figures(
        count,
        percentile(touches, 0.5),
        percentile(touches, 0.9),
        percentile(seconds, 0.5),
        percentile(seconds, 0.9),
        sum(one <= MOST_TOUCHES for one in touches) / count,
        sum(one < MOST_SECONDS for one in seconds) / count,
    )


def percentile(values: Sequence[float], share: float) -> float:
    """The value below which a share of a population lies, from a sample of it. [u, as the values]

    Parameters
    ----------
    values : sequence of float
        At least one finite value. [u]
    share : float
        Between 0 and 1, both left out. [-]

    Notes
    -----
    Of several conventions this is the one at rank p(n + 1), with a straight line between neighbours [1]_. Beyond the
    ends of the sample it gives the least or the largest value.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.2, Percentiles.

    Examples
    --------
    >>> percentile([1, 2, 3, 4], 0.5)
    2.5
    """
    if not values or not 0 < share < 1:
        raise ValueError(f"values must not be empty and share lie between 0 and 1, got {len(values)} and {share}")
    ordered = sorted(values)
    rank = share * (len(ordered) + 1)
    below = math.floor(rank)
    if below < 1:
        return float(ordered[0])
    if below >= len(ordered):
        return float(ordered[-1])
    return float(ordered[below - 1] + (rank - below) * (ordered[below] - ordered[below - 1]))


# How old an entry was when it went up: below so many seconds, in words; older ones are over the last of them.
AGES = ((60, "under 1 min"), (900, "1 to 15 min"), (3600, "15 min to 1 h"), (8 * 3600, "1 to 8 h"))
OLDER = "over 8 h"
