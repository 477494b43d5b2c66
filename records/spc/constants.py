"""Constants of the normal sample that turn ranges and deviations into a standard deviation, computed, not copied.

Printed tables carry misprints and two generations of them differ in the last digit; the definitions don't.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import exp, lgamma, pi, sqrt

import numpy as np
from scipy.special import ndtr

# Gauss-Legendre nodes an axis, and how far the integrals reach, in standard deviations. 160 nodes to 9 sigma give
# d2 and d3 to better than 1e-9 up to samples of 100.
NODES = 160
REACH = 9.0

# Covariance of two moving ranges that share a reading, in variances of the readings: E|u||v| of two normal
# differences with correlation -1/2, less the square of their mean [-].
NEIGHBOUR_COVARIANCE = 4 / pi * (sqrt(3) / 2 + pi / 12) - 4 / pi


@dataclass(frozen=True)
class Constants:
    """Constants of samples of one size: mean and deviation of the range, mean of the deviation, in sigmas. [-]"""

    n: int
    d2: float
    d3: float
    c4: float

    @property
    def lower_range_factor(self) -> float:
        """D3: lower three-sigma limit of a range over its mean; 0 means that there is no lower limit. [-]"""
        return max(0.0, 1 - 3 * self.d3 / self.d2)

    @property
    def upper_range_factor(self) -> float:
        """D4: upper three-sigma limit of a range over its mean. [-]"""
        return 1 + 3 * self.d3 / self.d2


@cache
def constants(n: int) -> Constants:
    """Constants of a normal sample of ``n``.

    Parameters
    ----------
    n : int
        Size of the sample, at least 2. [-]

    Returns
    -------
    Constants
        ``d2``, ``d3`` and ``c4``. [-]

    Notes
    -----
    With W = range / sigma: d2 = E(W), d3 = deviation of W, both by integration over the distribution of the range;
    c4 = E(s) / sigma in closed form.

    References
    ----------
    .. [1] Definitions as in ISO 7870-2 and ASTM E2587 (the standards themselves were not seen).
    .. [2] L. H. C. Tippett, "On the extreme individuals and the range of samples taken from a normal population",
       Biometrika 17 (1925), for the integrals (from memory).

    Examples
    --------
    >>> round(constants(5).d2, 3), round(constants(5).d3, 3), round(constants(5).c4, 3)
    (2.326, 0.864, 0.94)
    """
    if n < 2:
        raise ValueError(f"a sample that has a range has at least 2 readings, got {n}")
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    x, x_weights = nodes * REACH, weights * REACH
    w, w_weights = (nodes + 1) * REACH, weights * REACH
    density = np.exp(-x * x / 2) / sqrt(2 * pi)
    within = n * (density * (ndtr(x + w[:, None]) - ndtr(x)) ** (n - 1)) @ x_weights
    beyond = np.clip(1 - within, 0, 1)
    d2 = float(beyond @ w_weights)
    mean_square = float(2 * (w * beyond) @ w_weights)
    return Constants(n, d2, sqrt(mean_square - d2 * d2), mean_deviation(n - 1))


def mean_deviation(df: float) -> float:
    """Mean of the sample deviation over sigma, c4, for a spread worth ``df`` degrees of freedom. [-]"""
    return sqrt(2 / df) * exp(lgamma((df + 1) / 2) - lgamma(df / 2))
