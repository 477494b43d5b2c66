"""Probes that can be believed: range, jumps and open inputs are looked at before coldest and hottest are taken."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from records.runs.reading import Channel
from records.runs.reading.log import Floats
from records.runs.reading.sensors import runs_of

from .results import ProbeFault

# Rules for an invalid thermocouple: common practice, no source.
LOWEST_DEGC, HIGHEST_DEGC = -20.0, 300.0
JUMP_DEGC = 20.0
NEIGHBOUR_DEGC = 5.0
FLAT_ZERO_S = 600.0
# A probe that moves less than this while another moves by so much. Common practice, no source.
IDLE_DEGC, MOVED_DEGC = 5.0, 40.0
# A few samples left out are a gap; more are a probe that is gone.
MOST_LEFT_OUT = 3


@dataclass(frozen=True)
class Probes:
    """Temperatures of the working probes, one row each, nan from a probe's first bad sample on. [degC]"""

    names: tuple[str, ...]
    values: Floats
    faults: tuple[ProbeFault, ...]

    def coldest(self) -> Floats:
        """Lowest working probe at each time, nan where none works. [degC]"""
        return _over_probes(np.fmin.reduce, self.values)

    def hottest(self) -> Floats:
        """Highest working probe at each time, nan where none works. [degC]"""
        return _over_probes(np.fmax.reduce, self.values)


def working_probes(channels: list[Channel], temperatures: list[Floats], seconds: Floats) -> Probes:
    """Set aside what is no temperature: a probe is dropped from its first bad sample on, its earlier part is kept.

    Parameters
    ----------
    channels : list of Channel
        The probes. Their values are in ``temperatures``. [degC]
    seconds : array of float
        Time of each sample. [s]
    """
    values = np.array(temperatures, dtype=float).reshape(len(channels), len(seconds))
    kept = values.copy()
    faults = []
    for n, channel in enumerate(channels):
        bad = _first_bad(values, n, seconds)
        if bad is not None:
            at, words = bad
            kept[n, at:] = np.nan
            faults.append(ProbeFault(channel.name, float(seconds[at]), f"{channel.name} {words}"))
    return Probes(tuple(channel.name for channel in channels), kept, tuple(faults))


def idle_probes(probes: Probes) -> list[str]:
    """Probes that hardly move while another does: each may lie beside the part, which only a look at it can tell."""
    spans = [np.ptp(own[np.isfinite(own)]) if np.isfinite(own).any() else np.inf for own in probes.values]
    if max((span for span in spans if np.isfinite(span)), default=0.0) < MOVED_DEGC:
        return []
    return [name for name, span in zip(probes.names, spans, strict=True) if span < IDLE_DEGC]


def _first_bad(values: Floats, n: int, seconds: Floats) -> tuple[int, str] | None:
    own = values[n]
    found: list[tuple[int, str]] = []
    outside = np.flatnonzero((own < LOWEST_DEGC) | (own > HIGHEST_DEGC))
    if outside.size:
        at = int(outside[0])
        found.append((at, f"reads {own[at]:g} degC, outside {LOWEST_DEGC:g} to {HIGHEST_DEGC:g}: failed"))
    for run in runs_of(np.isnan(own)):
        if run.size > MOST_LEFT_OUT:
            found.append((int(run[0]), "gives no readings: open or unplugged"))
            break
    jump = _first_jump(values, n)
    if jump is not None:
        found.append((jump, f"jumps by {abs(own[jump] - own[jump - 1]):g} K in one sample while no other probe moves"))
    for run in runs_of(own == 0.0):
        others = np.delete(values, n, axis=0)[:, run]
        is_ramp = bool((np.ptp(others, axis=1) > NEIGHBOUR_DEGC).any()) if others.size else False
        if seconds[run[-1]] - seconds[run[0]] >= FLAT_ZERO_S and is_ramp:
            found.append((int(run[0]), "stays at exactly 0 while the others move: open"))
            break
    return min(found, key=lambda fault: fault[0], default=None)


def _first_jump(values: Floats, n: int) -> int | None:
    """First sample that jumps while no neighbour moves; a lone probe has no neighbour to judge it by."""
    if len(values) < 2:
        return None
    steps = np.abs(np.diff(values, axis=1))
    others = _over_probes(np.fmax.reduce, np.delete(steps, n, axis=0))
    jumps = np.flatnonzero((steps[n] > JUMP_DEGC) & (others < NEIGHBOUR_DEGC))
    return int(jumps[0]) + 1 if jumps.size else None


def _over_probes(reduce: Callable[[Floats], Floats], values: Floats) -> Floats:
    """One value at each time over all probes that have one."""
    if not len(values):
        return np.full(values.shape[1], np.nan)
    return np.asarray(reduce(values), dtype=np.float64)
