"""The pressure-rise test: where the valve was shut, how fast the pressure rises after, and whether it flattens."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from records.runs.reading.log import Floats

GAS_CONSTANT = 8.314462618  # J/(mol K), exact by the SI definition of 2019
# Common practice, no source: at least ten samples; the first seconds after the valve shuts are its own shock; a ratio
# above 0.8 is a leak, below 0.2 outgassing; a change of more than 2 degC makes a rise that is no leak.
LEAST_SAMPLES = 10
SHOCK_S = 10.0
LEAK_ABOVE, OUTGASSING_BELOW = 0.8, 0.2
STEADY_DEGC = 2.0
_LEAST_IN_A_THIRD = 3
# Venting: one step that brings at least this share of the way to ambient.
_VENT_SHARE = 0.2
_AMBIENT_MBAR = 1013.25


@dataclass(frozen=True)
class Rise:
    """Slopes of a pressure rise. ``ratio`` is None when the early slope is not a rise. [mbar/s]"""

    early: float
    late: float
    ratio: float | None

    @property
    def shape(self) -> str:
        """What the shape means in words."""
        if self.ratio is None:
            return "no rise"
        if self.ratio > LEAK_ABOVE:
            return "straight, like a leak"
        if self.ratio < OUTGASSING_BELOW:
            return "flattening, like outgassing"
        return "both, a leak with outgassing"


def rise_of(seconds: Floats, pressures: Floats) -> Rise:
    """Least-squares slopes of the first and the last third of a hold, by time.

    Parameters
    ----------
    seconds : array of float
        Times of the hold, rising. [s]
    pressures : array of float
        Pressures; a change is the same absolute or gauge. [mbar]

    Notes
    -----
    A third holds at least three samples, so that it has a slope that noise does not make alone.
    """
    seconds, pressures = np.asarray(seconds, dtype=float), np.asarray(pressures, dtype=float)
    if seconds.size < 2 * _LEAST_IN_A_THIRD - 1:
        raise ValueError(f"a rise needs at least {2 * _LEAST_IN_A_THIRD - 1} samples, got {seconds.size}")
    third = (seconds[-1] - seconds[0]) / 3
    early = max(int((seconds <= seconds[0] + third).sum()), _LEAST_IN_A_THIRD)
    late = max(int((seconds >= seconds[-1] - third).sum()), _LEAST_IN_A_THIRD)
    first, last = slope(seconds[:early], pressures[:early]), slope(seconds[-late:], pressures[-late:])
    return Rise(first, last, last / first if first > 0 else None)


def slope(seconds: Floats, values: Floats) -> float:
    """Least-squares slope. [u/s]"""
    t = seconds - seconds.mean()
    return float((t * (values - values.mean())).sum() / (t * t).sum())


def gas_load(volume: float, pressure_per_s: float) -> float:
    """Q = V dp/dt: leak and outgassing together. [l], [mbar/s] to [mbar l/s], or [m3], [Pa/s] to [Pa m3/s]"""
    return volume * pressure_per_s


def leak_mol_per_s(volume_m3: float, start: tuple[float, float], end: tuple[float, float], seconds: float) -> float:
    """Leak in moles, right also when the temperature moves; ``start`` and ``end`` are pressure [Pa], temperature [K].

    References
    ----------
    .. [1] 40 CFR 1065.644, Eq. 1065.644-1.
    """
    (p1, t1), (p2, t2) = start, end
    return volume_m3 / GAS_CONSTANT * (p2 / t2 - p1 / t1) / seconds


def absolute_of(depth: float, barometer: float) -> float:
    """Absolute pressure from a vacuum gauge that shows its depth below ambient, all in one unit.

    Raises ValueError for a depth below nothing: the gauge or the barometer is wrong.
    """
    absolute = barometer - depth
    if absolute < 0:
        raise ValueError(f"{depth:g} below {barometer:g} is less than no pressure: gauge or barometer is wrong")
    return absolute


@dataclass(frozen=True)
class Hold:
    """Positions of the first and last sample of the hold, and how the valve's shutting was found."""

    start: int
    end: int
    found_by: str


def hold_of(seconds: Floats, pressures: Floats, shut_at_s: float | None) -> Hold | None:
    """The hold: from the valve shut to the venting or the end. None when it can't be seen.

    ``shut_at_s`` is when a valve channel or a mark says the valve was shut. [s] Without it the hold begins at the
    last sample that is still at the lowest pressure, within the noise: after that the pressure only rises. A curve
    that never rises again does not show whether the valve was shut at all.
    """
    lowest = int(np.argmin(pressures))
    end = _vented(pressures, lowest)
    if shut_at_s is not None:
        start = int(np.searchsorted(seconds, shut_at_s))
        return Hold(start, _vented(pressures, start), "the valve") if start < len(seconds) - 1 else None
    noise = _noise(pressures[: end + 1], lowest)
    still = np.flatnonzero(pressures[: end + 1] <= pressures[lowest] + noise)
    start = int(still[-1])
    return Hold(start, end, "the curve") if end - start >= 2 else None


def _vented(pressures: Floats, start: int) -> int:
    """Last sample before a step that goes a good part of the way to ambient, else the last of all."""
    steps = np.diff(pressures[start:])
    to_go = np.maximum(_AMBIENT_MBAR - pressures[start:-1], 1.0)
    jumps = np.flatnonzero(steps > _VENT_SHARE * to_go)
    return start + int(jumps[0]) if jumps.size else len(pressures) - 1


def _noise(pressures: Floats, lowest: int) -> float:
    """How far samples lie from the curve through their neighbours, times three; zero for a smooth curve. [mbar]"""
    near = pressures[max(0, lowest - 50) : lowest + 50]
    if near.size < 5:
        return 0.0
    bends = np.abs(np.diff(near, n=2)) / 2
    return 3.0 * float(np.median(bends))


def pump_down_start(pressures: Floats, stop: int) -> int | None:
    """Position of the last sample before the pressure falls for good, None when the record begins below it."""
    before = pressures[: stop + 1]
    highest = float(before.max())
    high = np.flatnonzero(before >= 0.95 * highest)
    return int(high[-1]) if highest > 2 * float(before[-1]) else None
