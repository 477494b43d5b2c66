"""What a recipe may ask of a curve: the closed list of features, each with its unit and what its level means."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

PROBE, VACUUM, VALVE = "probe", "vacuum", "valve"
ROLES = {
    PROBE: "temperature of the part or its mould; several channels",
    VACUUM: "pressure in the closed tool or bag",
    VALVE: "state of the valve to the pump, 1 open and 0 shut",
}


class Feature(StrEnum):
    """A feature of a curve that a recipe may limit. The codes are stored, so none is renamed."""

    SOAK_COLDEST = "soak-coldest"
    """Longest unbroken time that the coldest probe is at or above the level. [min], level [degC]"""
    SOAK_COLDEST_SUM = "soak-coldest-sum"
    """Time that the coldest probe is at or above the level, pieces added. [min], level [degC]"""
    SOAK_LOWEST = "soak-lowest"
    """Lowest reading of the coldest probe from the beginning to the end of the soak. [degC], level [degC]"""
    SOAK_HOTTEST = "soak-hottest"
    """Highest reading of the hottest probe from the beginning to the end of the soak. [degC], level [degC]"""
    SOAK_SPREAD = "soak-spread"
    """Greatest difference between hottest and coldest probe in the soak. [K], level [degC]"""
    PEAK = "peak"
    """Highest reading of any working probe in the whole record. [degC]"""
    OVERSHOOT = "overshoot"
    """Highest reading of any working probe above the set-point, which is the level. [K], level [degC]"""
    HEAT_UP_MEAN = "heat-up-mean"
    """Mean rate of the hottest probe from the beginning of the heat-up to the level. [degC/min], level [degC]"""
    HEAT_UP_MAX = "heat-up-max"
    """Fastest rise of any working probe over five minutes. [degC/min]"""
    COOL_DOWN_MAX = "cool-down-max"
    """Fastest fall of any working probe over five minutes. [degC/min]"""
    END_TEMPERATURE = "end-temperature"
    """Hottest probe at the end of the record. [degC]"""
    PROBES_WORKING = "probes-working"
    """Number of probes that work to the end of the soak. [pc], level [degC]"""
    LONGEST_GAP = "longest-gap"
    """Longest time between two rows. [min]"""
    SOAK_VACUUM = "soak-vacuum"
    """Highest absolute pressure during the soak. [mbar], level [degC]"""
    PUMP_DOWN = "pump-down"
    """Time from the beginning of the pump-down to the level. [min], level [mbar]"""
    ULTIMATE = "ultimate"
    """Mean absolute pressure of the last five minutes before the valve is shut. [mbar]"""
    HOLD = "hold"
    """Time from the valve shut to the end of the hold. [min]"""
    HOLD_RISE = "hold-rise"
    """Rise of pressure over the time that is the level, from the beginning of the hold. [mbar], level [min]"""
    HOLD_HIGHEST = "hold-highest"
    """Highest absolute pressure during the hold. [mbar]"""
    LEAK_RATE = "leak-rate"
    """Slope of the last third of the hold: the upper bound of the leak. [mbar/min]"""
    LEAK_RATIO = "leak-ratio"
    """Slope of the last third over slope of the first: near 1 a leak, near 0 outgassing. [-]"""


@dataclass(frozen=True)
class FeatureUnit:
    """How a feature is stored and shown.

    ``unit`` is what its limits and its result are in. ``unit_kind`` is the kind of whole steps that the stored limits
    are in; a rate is stored as its change in one minute (``per_minute``), a ``difference`` of temperatures as one.
    ``edge`` is how close to a single limit a result is near the edge where the rule says nothing, in ``unit``, or as
    a share of the limit when ``edge_is_share``. Common practice, no source.
    """

    words: str
    unit: str
    unit_kind: str
    role: str
    level_unit: str | None = None
    level_kind: str | None = None
    difference: bool = False
    per_minute: bool = False
    edge: float = 0.05
    edge_is_share: bool = True


def _time(words: str, role: str, level_unit: str | None = None) -> FeatureUnit:
    kind = {"degC": "temperature", "mbar": "pressure_abs", None: None}[level_unit]
    return FeatureUnit(words, "min", "time", role, level_unit, kind)


def _temperature(words: str, *, soak: bool = False) -> FeatureUnit:
    level_unit, level_kind = ("degC", "temperature") if soak else (None, None)
    return FeatureUnit(words, "degC", "temperature", PROBE, level_unit, level_kind, edge=1.0, edge_is_share=False)


def _difference(words: str) -> FeatureUnit:
    return FeatureUnit(words, "K", "temperature", PROBE, "degC", "temperature", difference=True, edge=1.0,
                       edge_is_share=False)  # fmt: skip


def _rate(words: str, level_unit: str | None = None) -> FeatureUnit:
    kind = "temperature" if level_unit else None
    return FeatureUnit(words, "degC/min", "temperature", PROBE, level_unit, kind, difference=True, per_minute=True)


def _pressure(words: str, level_unit: str | None = None, level_kind: str | None = None) -> FeatureUnit:
    return FeatureUnit(words, "mbar", "pressure_abs", VACUUM, level_unit, level_kind, edge=0.1)


FEATURES: dict[Feature, FeatureUnit] = {
    Feature.SOAK_COLDEST: _time("soak, coldest probe", PROBE, "degC"),
    Feature.SOAK_COLDEST_SUM: _time("soak, coldest probe, pieces added", PROBE, "degC"),
    Feature.SOAK_LOWEST: _temperature("soak, lowest reading", soak=True),
    Feature.SOAK_HOTTEST: _temperature("soak, hottest probe", soak=True),
    Feature.SOAK_SPREAD: _difference("soak, hottest less coldest probe"),
    Feature.PEAK: _temperature("hottest reading"),
    Feature.OVERSHOOT: _difference("overshoot"),
    Feature.HEAT_UP_MEAN: _rate("heat-up, mean rate", "degC"),
    Feature.HEAT_UP_MAX: _rate("heat-up, fastest 5 min"),
    Feature.COOL_DOWN_MAX: _rate("cool-down, fastest 5 min"),
    Feature.END_TEMPERATURE: _temperature("hottest probe at the end"),
    Feature.PROBES_WORKING: FeatureUnit(
        "probes that work to the end of the soak", "pc", "count", PROBE, "degC", "temperature", edge=0.0
    ),
    Feature.LONGEST_GAP: _time("longest gap between rows", ""),
    Feature.SOAK_VACUUM: _pressure("soak, highest pressure", "degC", "temperature"),
    Feature.PUMP_DOWN: _time("pump-down to the level", VACUUM, "mbar"),
    Feature.ULTIMATE: _pressure("pressure before the valve was shut"),
    Feature.HOLD: _time("hold with the valve shut", VACUUM),
    Feature.HOLD_RISE: _pressure("rise in the hold", "min", "time"),
    Feature.HOLD_HIGHEST: _pressure("hold, highest pressure"),
    Feature.LEAK_RATE: FeatureUnit(
        "leak, last third of the hold", "mbar/min", "pressure_abs", VACUUM, difference=True, per_minute=True, edge=0.1
    ),
    Feature.LEAK_RATIO: FeatureUnit("late over early slope", "1", "ratio", VACUUM, edge=0.1),
}
# Features that need the pressure above nothing: from a gauge without a measured ambient they are not shown.
NEEDS_ABSOLUTE = frozenset(
    {Feature.SOAK_VACUUM, Feature.PUMP_DOWN, Feature.ULTIMATE, Feature.HOLD_HIGHEST}
)  # fmt: skip
SOAK_FEATURES = frozenset(
    {Feature.SOAK_COLDEST, Feature.SOAK_COLDEST_SUM, Feature.SOAK_LOWEST, Feature.SOAK_HOTTEST, Feature.SOAK_SPREAD,
     Feature.PROBES_WORKING, Feature.SOAK_VACUUM, Feature.HEAT_UP_MEAN}
)  # fmt: skip
HOLD_FEATURES = frozenset(
    {Feature.PUMP_DOWN, Feature.ULTIMATE, Feature.HOLD, Feature.HOLD_RISE, Feature.HOLD_HIGHEST, Feature.LEAK_RATE,
     Feature.LEAK_RATIO}
)  # fmt: skip
