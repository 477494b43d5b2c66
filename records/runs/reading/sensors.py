"""Numbers that are no readings: what an open, broken or over-ranged input writes in place of a fault sign."""

from __future__ import annotations

import re

import numpy as np

from .log import Floats, Whole
from .units import ABSOLUTE, GAUGE, TEMPERATURE, between

ABSOLUTE_ZERO_DEGC = -273.15
# Absolute zero in degF, below which no temperature lies in any unit that a recorder writes.
_LOWEST_IN_ANY_UNIT = -459.67
# A gauge below ambient can show no less than the whole of it; no barometer at sea level stood higher (from memory).
_HIGHEST_AMBIENT_MBAR = 1100.0
# A sensor of relative humidity may read a few per cent too far, not more. Common practice, no source.
_DRIEST, _DAMPEST = -5.0, 105.0
# Codes that instruments write for "no reading". Common practice, no source.
_CODES = np.array([-9999.0, 9999.0, -999.0, 999.0, -999.9, 999.9, -9999.9, 9999.9, -99999.0, 99999.0, -99.99, 32767.0,
                   -32768.0, 3276.7, -3276.8, 65535.0, 6553.5, -99.0, -7999.0, 6999.0, 850.0, 1372.0, 1768.0, 1820.0,
                   1200.0, 1300.0])  # fmt: skip
# Beyond every reading of a works: the largest floats that instruments write for infinity (9.9e37, 1e38).
_INFINITE = 9e36
# A reading on the limit may lie below it by its last bit after a turn of units.
_ROUNDING = 1e-9
# A code stands this far from the readings around it, in spans of all other readings of its channel.
_APART = 2.0
# A probe that shows one value to the last digit while another moves this far, over this many rows, is not measuring.
_STILL_ROWS = 30
_MOVED_DEGC = 20.0
# What a programme asks for, or a limit, may stand still or jump: nothing measured.
NOT_MEASURED = re.compile(
    r"(?i)set ?_?-?point|\bset|\bsp\b|sp$|_sp_|soll|target|consigne|limit|alarm|sw\b|programm?e?\b"
)


def codes_in(values: Floats, *, quantity: str | None, unit: str | None) -> np.ndarray:
    """Where a channel holds a code in place of a reading: infinity, what can't be, a code far from all else."""
    bad = (np.abs(values) > _INFINITE) | impossible(values, quantity=quantity, unit=unit)
    coded = np.isin(values, _CODES) & ~bad
    if not coded.any():
        return bad
    others = values[~coded & ~bad & np.isfinite(values)]
    if others.size == 0:
        return bad | (coded & (np.abs(values) >= 999)) if len(np.unique(values[coded])) == 1 else bad
    low, high = float(others.min()), float(others.max())
    span = max(high - low, abs(high), abs(low), 1.0)
    far = coded & ((values > high + _APART * span) | (values < low - _APART * span))
    return bad | far


def impossible(values: Floats, *, quantity: str | None, unit: str | None) -> np.ndarray:
    """Where a reading can't be: below absolute zero, below no pressure at all, a humidity that air can't have.

    Examples
    --------
    >>> impossible(np.array([-273.15, -273.16]), quantity="temperature", unit="degC").tolist()
    [False, True]
    """
    if quantity == TEMPERATURE:
        factor, offset = (between(unit, "degC") if unit else None) or (1.0, 0.0)
        lowest = ABSOLUTE_ZERO_DEGC if unit else _LOWEST_IN_ANY_UNIT
        return values * factor + offset < lowest - _ROUNDING
    if quantity == "humidity":
        return (values < _DRIEST) | (values > _DAMPEST)
    in_mbar = between(unit, "mbar") if unit else None
    if in_mbar and quantity in (ABSOLUTE, GAUGE):
        return values * in_mbar[0] < (0.0 if quantity == ABSOLUTE else -_HIGHEST_AMBIENT_MBAR)
    return np.zeros(len(values), dtype=bool)


def still_values(channels: dict[int, Floats]) -> dict[int, np.ndarray]:
    """Where temperature probes show the value of an open input: one probe that never moves gives it away.

    ``channels`` are the temperature channels of a file in degC by position. A probe that shows one value to the last
    digit while another moves by 20 degC is open. The same value in another channel is the open value too where it
    stands in a run that its neighbours don't lead up to; a single reading that fits its neighbours is a reading.
    """
    spans = {n: _span(values) for n, values in channels.items()}
    moved = max(spans.values(), default=0.0)
    still = {
        n: float(np.nanmin(values))
        for n, values in channels.items()
        if spans[n] == 0.0 and np.isfinite(values).sum() >= _STILL_ROWS and moved >= _MOVED_DEGC
    }
    found = {n: np.isfinite(channels[n]) for n in still}
    for n, values in channels.items():
        if n in still:
            continue
        bad = np.zeros(len(values), dtype=bool)
        for value in set(still.values()):
            bad |= _jumped_to(values, value)
        if bad.any():
            found[n] = bad
    return found


def _span(values: Floats) -> float:
    known = values[np.isfinite(values)]
    return float(known.max() - known.min()) if known.size else -1.0


def _jumped_to(values: Floats, value: float) -> np.ndarray:
    """Runs of ``value`` that begin or end with a step far above the usual one of the channel."""
    bad = np.zeros(len(values), dtype=bool)
    steps = np.abs(np.diff(values[np.isfinite(values) & (values != value)]))
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
    for run in runs_of(values == value):
        before = values[run[0] - 1] if run[0] > 0 else np.nan
        after = values[run[-1] + 1] if run[-1] + 1 < len(values) else np.nan
        jumps = [abs(value - side) for side in (before, after) if np.isfinite(side)]
        far = [jump for jump in jumps if jump > 5 * usual]
        if far and (run.size >= 3 or len(far) == 2):
            bad[run] = True
    return bad


def runs_of(where: np.ndarray) -> list[Whole]:
    """Positions of each unbroken run of True."""
    at = np.flatnonzero(where)
    return [run for run in np.split(at, np.flatnonzero(np.diff(at) > 1) + 1) if run.size]
