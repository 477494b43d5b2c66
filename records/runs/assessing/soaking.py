"""The soak of a cure found in the curve: pieces above a level, rates, extremes. No clock zero is trusted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from records.runs.reading.log import Floats
from records.runs.reading.sensors import runs_of

# Rates are taken over this window, so that the step of the gauge does not look like a rate. Common practice, no source.
RATE_WINDOW_S = 300.0
# The heat-up begins where the first tenth of the rise to the level is done.
_BEGUN = 0.1


@dataclass(frozen=True)
class Piece:
    """An unbroken stretch at or above a level; its ends are crossings by straight line between two samples. [s]

    ``open_start`` and ``open_end`` tell that a gap or an end of the record stands in place of a crossing.
    """

    start_s: float
    end_s: float
    open_start: bool = False
    open_end: bool = False

    @property
    def length_s(self) -> float:
        """Length. [s]"""
        return self.end_s - self.start_s


def pieces_above(seconds: Floats, values: Floats, level: float, *, longest_gap_s: float) -> list[Piece]:
    """Stretches in which a curve is at or above a level.

    A sample on the level counts as above. Over a gap longer than ``longest_gap_s``, or over samples without a value,
    nothing is taken as shown: the piece ends at the last sample before it.

    Parameters
    ----------
    seconds, values : array of float
        Times, rising [s], and readings [u].
    level : float
        The level. [u]
    """
    known = np.isfinite(values)
    t, v = seconds[known], values[known]
    found = []
    for run in runs_of(v >= level):
        # A run of samples above the level is cut where too much time lies between two of them.
        cuts = np.flatnonzero(np.diff(t[run]) > longest_gap_s) + 1
        for part in np.split(run, cuts):
            first, last = int(part[0]), int(part[-1])
            start, is_open_start = _crossing(t, v, first, -1, level, longest_gap_s)
            end, is_open_end = _crossing(t, v, last, 1, level, longest_gap_s)
            found.append(Piece(start, end, is_open_start, is_open_end))
    return found


def _crossing(t: Floats, v: Floats, n: int, step: int, level: float, longest_gap_s: float) -> tuple[float, bool]:
    """Time at which the curve meets the level beside sample ``n``, and whether that is not shown."""
    beside = n + step
    if not 0 <= beside < len(t):
        return float(t[n]), True
    if abs(t[beside] - t[n]) > longest_gap_s or v[beside] >= level:
        return float(t[n]), True
    share = (v[n] - level) / (v[n] - v[beside])
    return float(t[n] + share * (t[beside] - t[n])), False


def time_above(seconds: Floats, values: Floats, level: float, *, longest_gap_s: float = float("inf")) -> float:
    """Sum of the time at or above a level, straight lines between samples. [s]"""
    return sum(piece.length_s for piece in pieces_above(seconds, values, level, longest_gap_s=longest_gap_s))


def bridged(pieces: list[Piece], seconds: Floats, values: Floats, level: float) -> list[Piece]:
    """The same stretches if every gap with the curve above the level on both sides had been above it throughout."""
    return pieces_above(seconds, values, level, longest_gap_s=float("inf")) if pieces else []


def fastest_rise(seconds: Floats, values: Floats, *, longest_gap_s: float) -> tuple[float, float] | None:
    """Fastest rise over five minutes and when it begins; None when no five minutes are shown. [u/min], [s]

    The fastest fall is the fastest rise of ``-values``.
    """
    known = np.isfinite(values)
    t, v = seconds[known], values[known]
    if t.size < 2:
        return None
    ahead = t + RATE_WINDOW_S
    after = np.searchsorted(t, ahead)
    usable = np.flatnonzero((after < t.size) & (after > 0))
    # The end of the window lies between two samples; across a gap it is not known.
    usable = usable[(t[after[usable]] - t[after[usable] - 1]) <= longest_gap_s]
    if not usable.size:
        return None
    rates = (np.interp(ahead[usable], t, v) - v[usable]) / (RATE_WINDOW_S / 60)
    best = int(np.argmax(rates))
    return float(rates[best]), float(t[usable[best]])


def heat_up(seconds: Floats, hottest: Floats, level: float) -> tuple[float, float, float] | None:
    """Beginning of the heat-up, when the hottest probe reaches the level, and its mean rate. [s], [s], [degC/min]

    The beginning is the last time before the level at which a tenth of the rise from the coldest moment is not done.
    """
    known = np.isfinite(hottest)
    t, v = seconds[known], hottest[known]
    above = np.flatnonzero(v >= level)
    if not above.size or above[0] == 0:
        return None
    t, v = t[: above[0] + 1], v[: above[0] + 1]
    low = float(v.min())
    begun = int(np.flatnonzero(v <= low + _BEGUN * (level - low))[-1])
    if t[-1] <= t[begun]:
        return None
    reached = float(np.interp(level, [v[-2], v[-1]], [t[-2], t[-1]])) if v[-1] > v[-2] else float(t[-1])
    if reached <= t[begun]:
        return None
    return float(t[begun]), reached, float((level - v[begun]) / (reached - t[begun]) * 60)
