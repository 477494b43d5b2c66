"""Names as a rulebook writes them: outer blanks and case of a name that a story tells don't count."""

from __future__ import annotations

from collections.abc import Iterable

from plant.catalogue.models import Characteristic, MixRevision, Operation
from plant.codes import fold
from plant.equipment.models import Station


def _as_written(name: str, written: Iterable[str]) -> str:
    """The name as it was set up; one that was not stays as told, for the action to refuse."""
    told = name.strip()
    return next((one for one in written if fold(one) == fold(told)), told)


def characteristic_named(name: str) -> str:
    """Name of a characteristic as set up."""
    return _as_written(name, Characteristic.objects.values_list("name", flat=True))


def mix_named(name: str) -> str:
    """Name of a mix as set up."""
    return _as_written(name, MixRevision.objects.values_list("mix", flat=True))


def step_named(name: str) -> str:
    """Name of a step as set up."""
    return _as_written(name, Operation.objects.values_list("name", flat=True).distinct())


def station_named(name: str | None) -> str:
    """Code of a station as set up; none where none is told."""
    return _as_written(name, Station.objects.values_list("code", flat=True)) if name else ""
