"""Capability of a process against its tolerance band, and what a sample of that size can promise.

Cp and Cpk use the spread inside the process and mean something only while it is steady. Pp and Ppk use the spread of
all readings and tell how the parts came out, steady or not. No index proves that a part is good.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite, sqrt

from scipy.optimize import brentq
from scipy.special import chdtri, nctdtr, ndtr

from records.spc.limits import Spread

CONFIDENCE = 0.95
# Beyond this the library's noncentral t has no digits left; the doubt about the mean is then nothing beside the doubt
# about the spread, and chi-square alone gives the bound.
FAR = 1e4

NO_BAND = "No tolerance was given."
NO_SPREAD = "The readings don't differ, so there is no spread to compare the band with."
SIGNAL = "A signal stands without a cause found."
COARSE = "The gauge is too coarse for the spread."


@dataclass(frozen=True)
class Band:
    """Tolerance band; None where a side is open. On a limit is inside. [u]"""

    lower: float | None = None
    upper: float | None = None

    def __post_init__(self) -> None:
        for side in (self.lower, self.upper):
            if side is not None and not isfinite(side):
                raise ValueError(f"a limit must be a finite number or None, got {side}")
        if self.lower is not None and self.upper is not None and self.lower >= self.upper:
            raise ValueError(f"lower must be below upper, got {self.lower} and {self.upper}")

    @property
    def is_open(self) -> bool:
        """Whether there is no limit at all."""
        return self.lower is None and self.upper is None


OPEN = Band()


@dataclass(frozen=True)
class Pair:
    """Width of the band and room at its nearer limit, over a spread: Cp and Cpk, or Pp and Ppk. [-]

    ``both`` is None for a band with one limit: it has no width.
    """

    both: float | None
    nearer: float


@dataclass(frozen=True)
class Indices:
    """Indices of one span of readings, each kind under its own name. [-]

    ``shown`` says whether Cp and Cpk are; ``why`` says why not. ``least`` values are lower 95 % bounds.
    """

    shown: bool
    why: str | None
    n: int
    df: float
    cp: float | None = None
    cpk: float | None = None
    cpk_least: float | None = None
    pp: float | None = None
    ppk: float | None = None
    ppk_least: float | None = None


def indices(
    *, mean: float, n: int, within: Spread, overall: float, band: Band, signals: int = 0, coarse: bool = False
) -> Indices:
    """Cp, Cpk, Pp and Ppk, as far as they may be shown.

    Parameters
    ----------
    mean : float
        Mean of the ``n`` readings. [u]
    within : Spread
        Spread inside the process with the degrees of freedom that it is worth. [u]
    overall : float
        Sample deviation of all readings. [u]
    signals : int
        Signals on the charts of the span whose cause isn't found and removed, answered or not.
    coarse : bool
        Whether the gauge is too coarse for the spread.

    Returns
    -------
    Indices
        Without Cp and Cpk while a signal stands; Pp and Ppk are then the performance of a process not shown steady.

    Notes
    -----
    Which spread goes with which name: C with the spread inside, P with that of all readings, as in ISO 22514-2 (from
    memory) and the handbook of [1].

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6, What is process capability?
    """
    if band.is_open:
        return Indices(False, NO_BAND, n, within.df)
    if within.sigma <= 0 or overall <= 0:
        return Indices(False, NO_SPREAD, n, within.df)
    performance = pair(mean, overall, band)
    ppk_least = least_index(performance.nearer, n=n, df=n - 1)
    why = COARSE if coarse else SIGNAL if signals else None
    if why:
        return Indices(False, why, n, within.df, pp=performance.both, ppk=performance.nearer, ppk_least=ppk_least)
    capability = pair(mean, within.sigma, band)
    return Indices(
        shown=True,
        why=None,
        n=n,
        df=within.df,
        cp=capability.both,
        cpk=capability.nearer,
        cpk_least=least_index(capability.nearer, n=n, df=within.df),
        pp=performance.both,
        ppk=performance.nearer,
        ppk_least=ppk_least,
    )


def pair(mean: float, sigma: float, band: Band) -> Pair:
    """(U - L) / 6 sigma, and the smaller of (U - mean) / 3 sigma and (mean - L) / 3 sigma.

    Parameters
    ----------
    mean, sigma : float
        Centre and spread; ``sigma`` above 0. [u]
    band : Band
        At least one limit. [u]

    Examples
    --------
    >>> pair(16, 2, Band(8, 20))
    Pair(both=1.0, nearer=0.6666666666666666)
    """
    if sigma <= 0:
        raise ValueError(f"sigma must be above 0, got {sigma}")
    if band.lower is None and band.upper is None:
        raise ValueError("an index needs at least one limit, got none")
    above = inf if band.upper is None else (band.upper - mean) / (3 * sigma)
    below = inf if band.lower is None else (mean - band.lower) / (3 * sigma)
    both = None if band.lower is None or band.upper is None else (band.upper - band.lower) / (6 * sigma)
    return Pair(both, min(above, below))


def least_index(index: float, *, n: int, df: float, confidence: float = CONFIDENCE) -> float:
    """Smallest true index that the sample doesn't contradict: exact lower bound at one limit.

    Parameters
    ----------
    index : float
        Index found, at the nearer limit. [-]
    n : int
        Readings behind the mean. [-]
    df : float
        Degrees of freedom of the spread in use; n - 1 only for the deviation of all readings. [-]
    confidence : float
        How sure, between 0.5 and 1. [-]

    Returns
    -------
    float
        C with P(t'(df, 3 sqrt(n) C) <= 3 sqrt(n) index) = confidence. [-]

    Notes
    -----
    t' is the noncentral t. With an estimate by ranges the statistic is one only nearly: its degrees of freedom are
    matched by variation, and the bound comes out a little on the careful side. For a two-sided band it is the bound
    at the nearer limit.

    References
    ----------
    .. [1] R. H. Kushler and P. Hurley, "Confidence bounds for capability indices", Journal of Quality Technology 24
       (1992) 188-195 (from memory).

    Examples
    --------
    >>> round(least_index(1.33, n=50, df=49), 4)
    1.0931
    """
    if n < 2 or df < 1 or not 0.5 < confidence < 1:
        raise ValueError(f"n must be 2 or more, df 1 or more, confidence in 0.5 to 1, got {n}, {df}, {confidence}")
    stretch = 3 * sqrt(n)
    t = stretch * index
    if abs(t) > FAR:
        return index * sqrt(float(chdtri(df, confidence if t > 0 else 1 - confidence)) / df)

    def miss(shift: float) -> float:
        return noncentral_t(t, df=df, shift=shift) - confidence

    step, low, high = 1.0, t, t
    while miss(low) < 0:
        low, step = low - step, 2 * step
    while miss(high) > 0:
        high, step = high + step, 2 * step
    return float(brentq(miss, low, high, xtol=1e-12 * (1 + abs(t)))) / stretch


def noncentral_t(t: float, *, df: float, shift: float) -> float:
    """P(T <= t) for T = (Z + shift) / s, with Z normal and s the square root of chi-square over its ``df``. [-]

    Notes
    -----
    The library has no value far out on the other side of zero, where the chance is 1 or 0 to the last digit.
    """
    chance = float(nctdtr(df, shift, t))
    return chance if isfinite(chance) else float(shift < 0)


def parts_outside(mean: float, sigma: float, band: Band) -> float:
    """Share of parts outside the band if the readings were normal and steady: a guess that tails often refute. [-]

    Examples
    --------
    >>> round(parts_outside(0, 1, Band(-3, 3)) * 1e6, 1)
    2699.8
    """
    if sigma <= 0:
        raise ValueError(f"sigma must be above 0, got {sigma}")
    above = 0.0 if band.upper is None else float(ndtr((mean - band.upper) / sigma))
    below = 0.0 if band.lower is None else float(ndtr((band.lower - mean) / sigma))
    return above + below
