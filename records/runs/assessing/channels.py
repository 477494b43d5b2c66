"""Which channel plays which part, and its values in the unit that is judged. Units are never guessed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from records.runs.reading import Channel, RecorderLog
from records.runs.reading.headings import heading_of
from records.runs.reading.log import Floats
from records.runs.reading.sensors import NOT_MEASURED
from records.runs.reading.units import ABSOLUTE, GAUGE, PRESSURE, TEMPERATURE, between

from .features import PROBE, ROLES, VACUUM, VALVE

Roles = Mapping[str, str | Sequence[str]]


class RoleUnknown(ValueError):
    """A role or a channel that is not there: one plain sentence."""


@dataclass(frozen=True)
class Parts:
    """The channels by their part, in the units judged.

    ``pressure`` is absolute when ``is_absolute``; else only its changes mean something. [mbar] ``untold`` are words on
    channels left out because the file doesn't say their unit.
    """

    probes: tuple[Channel, ...]
    temperatures: tuple[Floats, ...]
    vacuum: Channel | None
    pressure: Floats
    is_absolute: bool
    valve: Channel | None
    cautions: tuple[str, ...]
    untold: tuple[str, ...]


def parts_of(log: RecorderLog, roles: Roles | None) -> Parts:
    """Channels by role: those named, else those that the file itself says are temperatures and a pressure.

    A name may carry a unit that the file leaves out: ``"Sensor 1 [degC]"``. Raises RoleUnknown.
    """
    named = _named(log, roles or {})
    cautions: list[str] = []
    untold: list[str] = []
    probes, temperatures = [], []
    usual = _usual_temperature_unit(log)
    for channel, unit in named.get(PROBE) or _temperatures(log):
        unit = unit or channel.unit or usual
        turned = between(unit, "degC") if unit else None
        if turned is None:
            untold.append(f"The file doesn't say in which unit {channel.name} is; name it as {channel.name} [degC].")
            continue
        if channel.unit is None:
            cautions.append(f"The file doesn't say the unit of {channel.name}; it was read as {unit}.")
        probes.append(channel)
        temperatures.append(channel.values * turned[0] + turned[1])
    vacuum, pressure, is_absolute = _vacuum(log, named.get(VACUUM), cautions, untold)
    valves = named.get(VALVE)
    valve = valves[0][0] if valves else None
    return Parts(
        tuple(probes), tuple(temperatures), vacuum, pressure, is_absolute, valve, tuple(cautions), tuple(untold)
    )


def _named(log: RecorderLog, roles: Roles) -> dict[str, list[tuple[Channel, str | None]]]:
    """Channels by role, each with the unit or kind of pressure that the person's name for it carries."""
    found: dict[str, list[tuple[Channel, str | None]]] = {}
    for role, names in roles.items():
        if role not in ROLES:
            raise RoleUnknown(f"There is no role {role}; the roles are {', '.join(ROLES)}.")
        for name in [names] if isinstance(names, str) else names:
            found.setdefault(role, []).append(_channel(log, name))
    return found


def _channel(log: RecorderLog, name: str) -> tuple[Channel, str | None]:
    try:
        return log.channel(name), None
    except KeyError:
        heading = heading_of(name)
    try:
        channel = log.channel(heading.name)
    except KeyError:
        names = ", ".join(channel.name for channel in log.channels)
        raise RoleUnknown(f"{log.name} has no channel {name}; its channels are {names}.") from None
    said = heading.unit
    if said is not None and said.quantity in (ABSOLUTE, GAUGE):
        return channel, said.quantity
    return channel, said.unit if said else None


def _temperatures(log: RecorderLog) -> list[tuple[Channel, str | None]]:
    return [(c, None) for c in log.channels if c.quantity == TEMPERATURE and not NOT_MEASURED.search(c.name)]


def _usual_temperature_unit(log: RecorderLog) -> str | None:
    """The one unit that the file's other temperatures are in, None when it names none or several."""
    units = {channel.unit for channel in log.channels if channel.quantity == TEMPERATURE and channel.unit}
    return units.pop() if len(units) == 1 else None


def _vacuum(log: RecorderLog, named: list[tuple[Channel, str | None]] | None, cautions: list[str],
            untold: list[str]) -> tuple[Channel | None, Floats, bool]:  # fmt: skip
    nothing = np.full(len(log.lines), np.nan)
    kinds = (ABSOLUTE, PRESSURE, GAUGE)
    candidates = named or [(c, None) for kind in kinds for c in log.channels if c.quantity == kind and c.unit]
    if not candidates:
        return None, nothing, False
    if len(candidates) > 1 and named is None:
        names = ", ".join(channel.name for channel, _ in candidates)
        if sum(channel.quantity == ABSOLUTE for channel, _ in candidates) != 1:
            untold.append(f"Several channels are pressures ({names}); say which is the vacuum.")
            return None, nothing, False
    channel, said = candidates[0]
    turned = between(channel.unit, "mbar") if channel.unit else None
    if turned is None:
        untold.append(f"The file doesn't say in which unit {channel.name} is.")
        return None, nothing, False
    values = channel.values * turned[0] + turned[1]
    kind = said if said in (ABSOLUTE, GAUGE) else channel.quantity
    known = values[np.isfinite(values)]
    if (
        kind == GAUGE and known.size and np.median(known) > 0
    ):  # a vacuum gauge that counts the depth below ambient upwards
        values = -values
        cautions.append(f"{channel.name} counts the depth of the vacuum; its fall was read as a rise of pressure.")
    if kind == ABSOLUTE:
        impossible = values <= 0  # an open sensor or a cut cable often reads exactly 0: common practice, no source
        if impossible.any():
            cautions.append(f"{channel.name} reads nothing or less {int(impossible.sum())} times; those were left out.")
        values = np.where(impossible, np.nan, values)
    else:
        cautions.append(f"{channel.name} isn't said to be absolute; only its changes were judged.")
    return channel, values, kind == ABSOLUTE
