"""How far weighings can be off, and whether a gap in a balance is more than they can tell. No Django.

A weighing carries two errors. What the scale can show is its own: those of several weighings add by their squares. What
the calibration leaves open is the same at each weighing on that scale, so it adds up in a row, and by squares only with
that of another scale. Its sign is not followed: a scale may be off one way under a full drum and the other under a cup.

References
----------
.. [1] JCGM 100:2008, Guide to the expression of uncertainty in measurement (GUM): 4.3.7 and equation (7), a value
   anywhere within plus and minus a has u = a / sqrt(3); F.2.2.1, a display that shows steps of d has u = 0.29 d;
   5.1.2 and equation (10), the combined standard uncertainty; 5.2.2 and its note 1, with what is correlated; 6.2.1, the
   expanded uncertainty U = k u, k = 2.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor, hypot, log10, sqrt

COVERAGE = 2  # k: about 95 % where no single part outweighs the others (GUM G.6.6)


def anywhere_within(half_width: float) -> float:
    """Standard uncertainty of a value that lies anywhere within plus and minus ``half_width``. [u, any one unit]

    Examples
    --------
    Between 96 and 104 degrees, all equally likely: 2.3 degrees (GUM 4.4.5).

    >>> round(anywhere_within(4), 1)
    2.3
    """
    if half_width < 0:
        raise ValueError(f"a half width must not be below nought, got {half_width}")
    return half_width / sqrt(3)


@dataclass(frozen=True)
class Error:
    """Standard uncertainty of one weighing: its own, and what is alike at each weighing on one scale. [u]"""

    own: float = 0.0
    alike: float = 0.0
    scale: str = ""

    @property
    def standard(self) -> float:
        """Of this weighing alone. [u]"""
        return hypot(self.own, self.alike)


def error_on(step: float, expanded: float = 0.0, scale: str = "") -> Error:
    """Standard uncertainty of one weighing on a scale. [u]

    Parameters
    ----------
    step : float
        Smallest step that the scale shows. [u]
    expanded : float
        Expanded uncertainty by its calibration, k = 2; nought where the certificate gives none. [u]
    scale : str
        Which scale it is; what its calibration leaves open is alike at each weighing on it.

    Notes
    -----
    A tared weighing reads the display twice, full and empty; the pot is weighed so. Here each counts as one reading,
    and the smaller of the two parts is never left out.

    Examples
    --------
    >>> round(error_on(1).standard, 2)
    0.29
    >>> error_on(0, 0.5).standard
    0.25
    """
    if step < 0 or expanded < 0:
        raise ValueError(f"step and expanded must not be below nought, got {step} and {expanded}")
    return Error(anywhere_within(step / 2), expanded / COVERAGE, scale)


def together(parts: Iterable[float]) -> float:
    """Combined standard uncertainty of a sum of independent parts. [u]

    Examples
    --------
    An end gauge: 25, 9.7, 2.9 and 16.6 nm together are 32 nm (GUM H.1.4).

    >>> round(together([25, 9.7, 2.9, 16.6]))
    32
    """
    return hypot(0.0, *parts)


def two_figures(uncertainty: float) -> float:
    """An uncertainty to two figures, rounded up: more are seldom known (GUM 7.2.6). [u]

    Examples
    --------
    >>> two_figures(28.31), two_figures(0.0981), two_figures(30.0), two_figures(0)
    (29.0, 0.099, 30.0, 0.0)
    """
    if uncertainty <= 0:
        return 0.0
    step = 10.0 ** (floor(log10(uncertainty)) - 1)
    return round(ceil(round(uncertainty / step, 6)) * step, 12)


def combined(errors: Iterable[Error]) -> float:
    """Combined standard uncertainty of a sum of weighings. [u]

    Examples
    --------
    Ten resistors calibrated against one standard with u = 0.1 ohm, in a row: 1 ohm, not 0.32 (GUM 5.2.2, example).

    >>> round(combined([Error(alike=0.1, scale="Rs")] * 10), 2)
    1.0
    """
    told = list(errors)
    alike: dict[str, float] = {}
    for one in told:
        alike[one.scale] = alike.get(one.scale, 0.0) + one.alike
    return together([*(one.own for one in told), *alike.values()])


@dataclass(frozen=True)
class Gap:
    """What is missing in a balance, and how far the weighings can be off, k = 2. [u]"""

    amount: int
    expanded: float

    @property
    def is_beyond(self) -> bool:
        """Whether it is more than the weighings can tell; a gap as large as they can be off is not."""
        return abs(self.amount) > self.expanded

    def room_for(self, amount: int) -> int:
        """How many uses of an amount the gap has room for: with all that the weighings can be off on its side.

        Examples
        --------
        A gap of 0.56 kg, give or take 0.03, has room for one fill of 0.5 kg, or for two of 0.28.

        >>> gap = Gap(560, 30)
        >>> gap.room_for(500), gap.room_for(280), gap.room_for(600)
        (1, 2, 0)
        """
        if amount <= 0:
            return 0
        return max(int((self.amount + self.expanded) // amount), 0)


def gap_of(amount: int, weighings: Iterable[Error]) -> Gap:
    """The gap of a balance with the errors of everything that was weighed for it. [u]"""
    return Gap(amount, COVERAGE * combined(weighings))
