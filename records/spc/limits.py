"""Control limits: single values with moving ranges, and averages with ranges of subgroups.

Limits are worked out from a span of readings and then stand; later readings are held against them and never move them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import fsum, isfinite, sqrt

from records.spc.constants import NEIGHBOUR_COVARIANCE, constants, mean_deviation

# Printed value of d2 for two readings (exactly 1.128379). Single values are divided by it because the handbook
# example and the rulebook of the works do so: a person with a table and a calculator gets the same limits. The exact
# divisor would move a limit by 0.03 % of its distance. All other constants are computed.
D2_OF_TWO = 1.128
# Limits from fewer points are trial limits. Common practice, no source.
FEWEST_POINTS = 20


@dataclass(frozen=True)
class Limits:
    """Centre line and three-sigma limits of one plotted statistic. [u]"""

    centre: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Spread:
    """Standard deviation inside a process, how it was got and how many degrees of freedom it is worth."""

    sigma: float
    how: str
    df: float


@dataclass(frozen=True)
class IndividualsLimits:
    """Limits of single values and their moving ranges, from ``n`` readings with ``ranges`` moving ranges. [u]"""

    individuals: Limits
    moving_range: Limits
    within: Spread
    n: int
    ranges: int

    @property
    def trial(self) -> bool:
        """Whether they rest on too few points to stand for long."""
        return self.n < FEWEST_POINTS


@dataclass(frozen=True)
class SubgroupLimits:
    """Grand mean and within spread of ``subgroups`` subgroups with ``n`` readings; limits depend on the size. [u]"""

    grand_mean: float
    within: Spread
    n: int
    subgroups: int

    @property
    def trial(self) -> bool:
        """Whether they rest on too few subgroups to stand for long."""
        return self.subgroups < FEWEST_POINTS

    def averages(self, size: float) -> Limits:
        """Limits of the average of ``size`` readings. [u]"""
        reach = 3 * self.within.sigma / sqrt(size)
        return Limits(self.grand_mean, self.grand_mean - reach, self.grand_mean + reach)

    def ranges(self, size: int) -> Limits:
        """Limits of the range of ``size`` readings; a lower limit of 0 is none. [u]"""
        c = constants(size)
        sigma = self.within.sigma
        return Limits(c.d2 * sigma, max(0.0, (c.d2 - 3 * c.d3) * sigma), (c.d2 + 3 * c.d3) * sigma)


def moving_ranges(values: Sequence[float | None]) -> tuple[float | None, ...]:
    """Distance of each value from the one before it; none at the start and none over an empty place. [u]

    Examples
    --------
    >>> moving_ranges([4.0, 6.0, None, 5.0, 5.5])
    (None, 2.0, None, None, 0.5)
    """
    check(values)
    ranges: list[float | None] = [None] if values else []
    for before, value in pairwise(values):
        ranges.append(None if before is None or value is None else abs(value - before))
    return tuple(ranges)


def individuals_limits(values: Sequence[float | None]) -> IndividualsLimits:
    """Limits of single values: mean -+ 3 x mean moving range / 1.128.

    Parameters
    ----------
    values : sequence of float or None
        One value a piece in the order made; None where a reading is missing. [u, any one unit]

    Returns
    -------
    IndividualsLimits
        Upper limit of the moving range is D4(2) times its mean, D4 = 3.2665; it has no lower limit. [u]

    Notes
    -----
    A missing reading takes two moving ranges with it; none is formed over its place.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, Individuals control charts.

    Examples
    --------
    >>> limits = individuals_limits([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    >>> round(limits.individuals.lower, 4), round(limits.individuals.upper, 4)
    (45.8159, 55.8041)
    """
    ranges = moving_ranges(values)
    readings = [value for value in values if value is not None]
    within = spread_of_moving_ranges([ranges])
    mean_range = within.sigma * D2_OF_TWO
    centre = mean(readings)
    return IndividualsLimits(
        individuals=three_sigma(centre, within.sigma),
        moving_range=moving_range_limits(mean_range),
        within=within,
        n=len(readings),
        ranges=sum(r is not None for r in ranges),
    )


def limits_about(centre: float, *, mean_range: float) -> Limits:
    """Limits of single values from a centre and a mean moving range that were frozen. [u]

    Examples
    --------
    >>> limits_about(50.81, mean_range=1.128)
    Limits(centre=50.81, lower=47.81, upper=53.81)
    """
    return three_sigma(centre, mean_range / D2_OF_TWO)


def moving_range_limits(mean_range: float) -> Limits:
    """Limits of moving ranges of two around their mean. [u]"""
    return Limits(mean_range, 0.0, constants(2).upper_range_factor * mean_range)


def three_sigma(centre: float, sigma: float) -> Limits:
    """Limits three sigma to both sides of a centre. [u]"""
    return Limits(centre, centre - 3 * sigma, centre + 3 * sigma)


def spread_of_moving_ranges(pieces: Sequence[Sequence[float | None]]) -> Spread:
    """Spread from one mean of all moving ranges of one or several pieces.

    Parameters
    ----------
    pieces : sequence of sequences of float or None
        Moving ranges by piece, None where there is none. [u]

    Returns
    -------
    Spread
        ``sigma`` = mean moving range / 1.128 [u]; ``df`` [-] are those of a deviation that varies as much.

    Notes
    -----
    Two neighbouring ranges share a reading, so n - 1 ranges are worth far less than n - 1 degrees of freedom, about
    0.6 n. Their covariance is counted pair by pair, so that it is right with empty places and pieces too.

    References
    ----------
    .. [1] J. D. Cryer and T. P. Ryan, "The estimation of sigma for an X chart: MR/d2 or S/c4?", Journal of Quality
       Technology 22 (1990) 187-192: variance 0.826 sigma^2 / n for large n (from memory).
    """
    ranges = [r for piece in pieces for r in piece if r is not None]
    if not ranges:
        raise ValueError("a moving range needs 2 readings beside each other, got none")
    pairs = sum(a is not None and b is not None for piece in pieces for a, b in pairwise(piece))
    two = constants(2)
    variance = (len(ranges) * two.d3**2 + 2 * pairs * NEIGHBOUR_COVARIANCE) / len(ranges) ** 2
    sigma = fsum(ranges) / len(ranges) / D2_OF_TWO
    return Spread(sigma, f"mean moving range / {D2_OF_TWO}", degrees_of_freedom(variance / two.d2**2))


def subgroup_limits(subgroups: Sequence[Sequence[float]]) -> SubgroupLimits:
    """Limits of averages and ranges; subgroups may differ in size.

    Parameters
    ----------
    subgroups : sequence of sequences of float
        Readings by subgroup, at least 2 in each, in the order made. [u, any one unit]

    Returns
    -------
    SubgroupLimits
        Asked for a size it gives the limits of an average and of a range of that many. [u]

    Notes
    -----
    sigma is the mean of R / d2(n), each range with the constant of its own size; one constant for all would be wrong
    where a reading is missing. The grand mean is the mean of all readings. With one size these are the usual
    mean -+ A2 R and D3 R, D4 R.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1, Shewhart X-bar and R and S control charts.

    Examples
    --------
    >>> limits = subgroup_limits([[1.0, 1.2, 1.1], [1.1, 1.3], [0.9, 1.2, 1.0, 1.1]])
    >>> round(limits.within.sigma, 4)
    0.147
    """
    for number, readings in enumerate(subgroups, 1):
        check(readings)
        if len(readings) < 2:
            raise ValueError(f"a subgroup must hold at least 2 readings, got {len(readings)} in subgroup {number}")
    if not subgroups:
        raise ValueError("limits need at least 1 subgroup, got none")
    of_size = [constants(len(readings)) for readings in subgroups]
    scaled = [range_of(readings) / c.d2 for readings, c in zip(subgroups, of_size, strict=True)]
    k = len(subgroups)
    squared_variation = fsum((c.d3 / c.d2) ** 2 for c in of_size) / k**2
    how = "mean range / d2" if len({c.n for c in of_size}) == 1 else "mean of range / d2 of its size"
    readings = [value for row in subgroups for value in row]
    within = Spread(fsum(scaled) / k, how, degrees_of_freedom(squared_variation))
    return SubgroupLimits(mean(readings), within, len(readings), k)


def degrees_of_freedom(squared_variation: float) -> float:
    """Degrees of freedom of a sample deviation that varies as much as an estimate of sigma does.

    Parameters
    ----------
    squared_variation : float
        Variance of the estimate over the square of its mean. [-]

    Returns
    -------
    float
        df with (1 - c4^2) / c4^2 = ``squared_variation``. [-]

    Examples
    --------
    >>> round(degrees_of_freedom((1 - mean_deviation(16) ** 2) / mean_deviation(16) ** 2), 6)
    16.0
    """
    # The first terms for large df, 1 / (2 df) + 1 / (8 df^2), give the start; the rest is Newton's rule by secants.
    df = 1 / (2 * squared_variation) + 0.25
    if df > 1000:
        return df
    step = 1e-4
    for _ in range(50):
        miss = _squared_variation(df) - squared_variation
        slope = (_squared_variation(df * (1 + step)) - _squared_variation(df * (1 - step))) / (2 * step * df)
        change = miss / slope
        df = max(df - change, df / 4)
        if abs(change) < 1e-10 * df:
            break
    return df


def _squared_variation(df: float) -> float:
    c4 = mean_deviation(df)
    return (1 - c4 * c4) / (c4 * c4)


def overall_deviation(values: Sequence[float]) -> float:
    """Sample standard deviation of all readings, divided by n - 1. [u]

    The mean goes first, so that a large offset does not eat the digits of the spread.

    Examples
    --------
    >>> round(overall_deviation([10.0, 10.1, 10.2]), 10)
    0.1
    """
    check(values)
    if len(values) < 2:
        raise ValueError(f"a spread needs at least 2 readings, got {len(values)}")
    centre = mean(values)
    return sqrt(fsum((value - centre) ** 2 for value in values) / (len(values) - 1))


def mean(values: Sequence[float]) -> float:
    """Mean of at least one reading. [u]"""
    if not values:
        raise ValueError("a mean needs at least 1 reading, got none")
    return fsum(values) / len(values)


def range_of(readings: Sequence[float]) -> float:
    """Largest less smallest reading of a subgroup. [u]"""
    return max(readings) - min(readings)


def check(values: Sequence[float | None]) -> None:
    """Refuse what is no finite number; an empty place is None, never nan."""
    for place, value in enumerate(values, 1):
        if value is not None and not isfinite(value):
            raise ValueError(f"each value must be a finite number or None, got {value} at place {place}")
