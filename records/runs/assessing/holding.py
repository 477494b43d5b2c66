"""Features of a vacuum test: pump-down, hold and leak, each got from the curve or said not to be shown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from records.runs.reading.log import Floats

from .features import NEEDS_ABSOLUTE, Feature
from .leaking import (
    LEAST_SAMPLES,
    SHOCK_S,
    STEADY_DEGC,
    Hold,
    Rise,
    gas_load,
    hold_of,
    pump_down_start,
    rise_of,
)
from .recipe import Recipe, Rule
from .results import Finding, Leak

# The vacuum before the valve is shut is the mean of its last five minutes. Common practice, no source.
_BEFORE_S = 300.0
_SHORTEST_HOLD_S = 60.0
# A step in the hold longer than this many usual ones means that samples are missing.
_MISSING = 3.5


@dataclass(frozen=True)
class VacuumTest:
    """Pressures of a run without its missing samples, the hold found in them, and why its rise is not shown if so."""

    seconds: Floats
    pressures: Floats
    is_absolute: bool
    hold: Hold | None
    rise: Rise | None
    doubt: str
    cautions: tuple[str, ...]


def test_of(seconds: Floats, pressure: Floats, temperatures: list[Floats], recipe: Recipe, *, is_absolute: bool,
            shut_at_s: float | None) -> VacuumTest:  # fmt: skip
    """Find the hold and judge whether it can show a leak."""
    known = np.isfinite(pressure)
    t, p = seconds[known], pressure[known]
    if t.size < LEAST_SAMPLES:
        return VacuumTest(t, p, is_absolute, None, None, f"Only {t.size} pressures were recorded.", ())
    hold = hold_of(t, p, shut_at_s)
    if hold is None:
        words = "The moment at which the valve was shut can't be seen: the pressure doesn't rise after its lowest."
        return VacuumTest(t, p, is_absolute, None, None, words, ())
    inside = slice(_after_shock(t, hold), hold.end + 1)
    asked_s = [60 * rule.lower for rule in recipe.rules if rule.feature is Feature.HOLD and rule.lower is not None]
    doubt = _doubt(t[inside], t[hold.end] - t[hold.start], max([_SHORTEST_HOLD_S, *asked_s]))
    own = [values[(seconds >= t[hold.start]) & (seconds <= t[hold.end])] for values in temperatures]
    moved = max((float(np.nanmax(v) - np.nanmin(v)) for v in own if np.isfinite(v).any()), default=None)
    if moved is not None and moved > STEADY_DEGC:
        doubt = f"The temperature moved by {moved:.1f} K during the hold, which makes a rise that is no leak."
    cautions = (
        () if moved is not None else ("No temperature was recorded beside the hold; a warming tool reads like a leak.",)
    )
    rise = None if doubt else rise_of(t[inside], p[inside])
    return VacuumTest(t, p, is_absolute, hold, rise, doubt, cautions)


def _after_shock(t: Floats, hold: Hold) -> int:
    """First sample of the rise: the seconds after the valve shuts are left out where they were sampled at all."""
    first = int(np.searchsorted(t, t[hold.start] + SHOCK_S))
    return first if first > hold.start + 1 else hold.start


def _doubt(t: Floats, length_s: float, shortest_s: float) -> str:
    if t.size < LEAST_SAMPLES:
        return f"The hold has {t.size} samples; at least {LEAST_SAMPLES} are needed."
    if round(length_s, 3) < round(shortest_s, 3):
        return f"The hold lasted {length_s / 60:.1f} min; at least {shortest_s / 60:.1f} are needed."
    steps = np.diff(t)
    if steps.max() > _MISSING * np.median(steps):
        return f"Samples are missing in the hold, {steps.max():.0f} s at once."
    return ""


def leak_of(test: VacuumTest, volume_l: float | None) -> Leak | None:
    """The facts of the rise for people, None when it is not shown."""
    if test.hold is None or test.rise is None:
        return None
    load = gas_load(volume_l, test.rise.late) if volume_l is not None else None
    samples = test.hold.end - test.hold.start + 1
    start, end = float(test.seconds[test.hold.start]), float(test.seconds[test.hold.end])
    return Leak(start, end, samples, test.rise.early * 60, test.rise.late * 60, test.rise.ratio, test.rise.shape, load)


def got_from_vacuum(rule: Rule, test: VacuumTest) -> Finding:
    """The value of a feature of a vacuum test."""
    if not test.seconds.size:
        return Finding(None, "No pressure of the tool was recorded.")
    if rule.feature in NEEDS_ABSOLUTE and not test.is_absolute:
        return Finding(None, "The pressure isn't said to be absolute, so its level can't be judged.")
    if rule.feature is Feature.PUMP_DOWN:
        return _pump_down(rule, test)
    if test.hold is None:
        return Finding(None, test.doubt)
    start, end = float(test.seconds[test.hold.start]), float(test.seconds[test.hold.end])
    if rule.feature is Feature.HOLD:
        return Finding((end - start) / 60, f"Found by {test.hold.found_by}.", start, end)
    if rule.feature is Feature.ULTIMATE:
        return _ultimate(test, start)
    if rule.feature is Feature.HOLD_HIGHEST:
        return Finding(float(test.pressures[test.hold.start : test.hold.end + 1].max()), "", start, end)
    if test.rise is None:
        return Finding(None, test.doubt, start, end)
    if rule.feature is Feature.LEAK_RATE:
        return Finding(test.rise.late * 60, f"{test.rise.shape.capitalize()}.", start, end)
    if rule.feature is Feature.LEAK_RATIO:
        words = "The pressure doesn't rise in the first third." if test.rise.ratio is None else ""
        return Finding(test.rise.ratio, words or f"{test.rise.shape.capitalize()}.", start, end)
    return _rise_over(rule, test, start, end)


def _rise_over(rule: Rule, test: VacuumTest, start: float, end: float) -> Finding:
    """Rise from the beginning of the hold over the time asked, or over all of it."""
    until = end if rule.level is None else start + 60 * rule.level
    if until > end + 1e-6:
        asked = f"{rule.level:g} min are asked" if rule.level is not None else ""
        return Finding(None, f"The hold lasted {(end - start) / 60:.1f} min; {asked}.", start, end)
    high = float(np.interp(until, test.seconds, test.pressures))
    low = float(np.interp(start, test.seconds, test.pressures))
    return Finding(high - low, f"Over {(until - start) / 60:.1f} min.", start, until)


def _ultimate(test: VacuumTest, shut_s: float) -> Finding:
    before = (test.seconds >= shut_s - _BEFORE_S) & (test.seconds <= shut_s)
    if test.seconds[0] > shut_s - _BEFORE_S / 2 or before.sum() < _LEAST_BEFORE:
        return Finding(None, "The minutes before the valve was shut are not on the record.")
    pressures = test.pressures[before]
    return Finding(float(pressures.mean()), "", float(test.seconds[before][0]), shut_s)


def _never_down(level: float, test: VacuumTest) -> Finding:
    """A pump-down that never reached its level took at least as long as the pump is seen to have worked."""
    lowest = int(np.argmin(test.pressures))
    words = f"The pressure never fell to {level:g} mbar; its lowest was {test.pressures[lowest]:.1f}."
    start = pump_down_start(test.pressures, lowest)
    if start is None:
        return Finding(None, words)
    began, ended = float(test.seconds[start]), float(test.seconds[lowest])
    least = (ended - began) / 60
    return Finding(least, words, began, ended, least, float("inf"))


_LEAST_BEFORE = 3


def _pump_down(rule: Rule, test: VacuumTest) -> Finding:
    if rule.level is None:
        return Finding(None, "The recipe names no level to pump down to.")
    low = np.flatnonzero(test.pressures <= rule.level)
    if not low.size:
        return _never_down(rule.level, test)
    start = pump_down_start(test.pressures, int(low[0]))
    if start is None:
        return Finding(None, "The beginning of the pump-down is not on the record.")
    began, reached = float(test.seconds[start]), float(test.seconds[low[0]])
    return Finding((reached - began) / 60, "", began, reached)
