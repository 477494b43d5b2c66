"""A metering machine's shot: how much of each component its log says was delivered. No Django."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .reading import RecorderLog

# Units in which a machine's total may be told, in micrograms.
MASS_UG = {"ug": 1, "mg": 10**3, "g": 10**6, "kg": 10**9}


class NoMass(ValueError):
    """A channel from which no mass can be told: one plain sentence."""


def mass_of_shot(log: RecorderLog, channel: str) -> int:
    """Mass that a running total rose by over the whole log. [ug]

    Raises NoMass for a channel that is not there, tells no mass, has no readings, or falls: a total that falls was
    set back, and what was delivered before it can't be told.
    """
    try:
        found = log.channel(channel)
    except KeyError as wrong:
        names = ", ".join(one.name for one in log.channels)
        raise NoMass(f"{log.name} has no channel {channel}; it has {names}.") from wrong
    if found.unit not in MASS_UG:
        raise NoMass(f"{log.name} doesn't tell {channel} as a mass; its unit is {found.unit or 'not told'}.")
    readings: NDArray[np.float64] = found.values[np.isfinite(found.values)]
    if readings.size < 2:
        raise NoMass(f"{log.name} has too few readings of {channel} to tell a shot.")
    if (np.diff(readings) < 0).any():
        raise NoMass(f"{channel} in {log.name} falls: the machine's total was set back during the shot.")
    return round(float(readings[-1] - readings[0]) * MASS_UG[found.unit])
