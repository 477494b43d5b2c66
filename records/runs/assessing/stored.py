"""Rules between the whole steps they are stored in and the plain units they are judged in."""

from __future__ import annotations

from plant.quantities import CELSIUS_OFFSET_MK, UNITS

from .features import FEATURES, Feature
from .recipe import Rule

# Units of features by the unit of their kind that steps are counted in; a rate is stored as its change in a minute.
_STORED_UNIT = {"degC/min": "degC", "mbar/min": "mbar", "K": "K"}


def rule_of(feature: Feature, *, role: str = "", level: int | None = None, lower: int | None = None,
            upper: int | None = None) -> Rule:  # fmt: skip
    """A rule from its stored form; ``level``, ``lower``, ``upper`` are whole steps of the feature's kinds."""
    known = FEATURES[feature]
    level_value = None
    if level is not None and known.level_unit and known.level_kind:
        level_value = _value(level, known.level_unit, known.level_kind, difference=False)
    return Rule(feature, level_value, value_of(feature, lower), value_of(feature, upper), role)


def value_of(feature: Feature, steps: int | None) -> float | None:
    """A stored limit or result of a feature in the feature's unit. [steps] to [unit]"""
    known = FEATURES[feature]
    return None if steps is None else _value(steps, known.unit, known.unit_kind, difference=known.difference)


def steps_of_value(feature: Feature, value: float | None) -> int | None:
    """A result of a feature as whole steps, to the nearest. [unit] to [steps]"""
    if value is None:
        return None
    known = FEATURES[feature]
    steps = round(value * _per_unit(known.unit, known.unit_kind))
    return steps + CELSIUS_OFFSET_MK if _is_celsius(known.unit_kind, known.unit, known.difference) else steps


def _value(steps: int, unit: str, kind: str, *, difference: bool) -> float:
    if _is_celsius(kind, unit, difference):
        steps -= CELSIUS_OFFSET_MK
    return steps / _per_unit(unit, kind)


def _per_unit(unit: str, kind: str) -> int:
    return UNITS[kind][_STORED_UNIT.get(unit, unit)]


def _is_celsius(kind: str, unit: str, difference: bool) -> bool:
    return kind == "temperature" and unit == "degC" and not difference
