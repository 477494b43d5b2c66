"""A number outside its band is kept, and the unit waits until it is measured again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from plant.catalogue.queries import route_of
from plant.codes import fold
from records.items.locking import lock_items
from records.ledger.acts import Said, act
from records.ledger.refusals import Refused

from ..filling import unit_at
from ..models import MeasureAgain
from .working import operation_named

MOST_MIN = 240  # a wait is no hold. A choice of this project, no source.


@dataclass(frozen=True)
class Outside:
    """What read outside its band: at an operation, or on a sheet where none is named."""

    name: str
    written: str
    unit: str = ""
    operation: str = ""


def measure_again(unit: str, *, read: Outside, minutes: int, said: Said) -> MeasureAgain:
    """Keep a reading outside its band, and lock its step for some minutes: then it is measured again.

    Refuses ``unknown`` and ``wrong-kind`` for the unit and its operation, ``not-a-number`` for no time to wait.
    """
    stated = {"operation": read.operation, "name": read.name, "written": read.written, "of": read.unit}
    with act("measured again later", said, unit=fold(unit), minutes=minutes, **stated) as a:
        if a.made:
            return MeasureAgain.objects.get(entry=a.entry)
        item = unit_at(unit, a.at)
        operation = None
        if read.operation:
            operation = operation_named(item, route_of(item.part, item.born_at), read.operation)
        if not 1 <= minutes <= MOST_MIN:
            raise Refused("not-a-number", "Wait between 1 and %(most)s minutes.", most=MOST_MIN)
        if not read.name or not read.written:
            raise Refused("unknown", "Say what is measured again, and what it read.")
        lock_items([item])
        return a.write(
            MeasureAgain(
                unit=item,
                operation=operation,
                name=read.name,
                written=read.written,
                unit_text=read.unit,
                until=a.at + timedelta(minutes=minutes),
            )
        )
