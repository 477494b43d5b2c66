"""The one question of a step that gives a unit another carrier: its code, scanned from what was just put on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.utils.translation import gettext as _

from plant.catalogue.carriers import Carrier
from plant.catalogue.models import Operation
from plant.catalogue.queries import carrier_from
from plant.speaking import say
from records.items.models import Item
from records.ledger.refusals import Refused
from records.steps.carrying import OLD, WRONG, carriers_of, read_carrier

from .asking import Question, Told
from .pieces import question_data


def puts_on(operation: Operation) -> str:
    """The carrier that is scanned at an operation; none where the tool that it is done with stands for the unit."""
    kind = carrier_from(operation)
    return "" if kind == Carrier.TOOL or operation.n == 1 else kind


@dataclass(frozen=True)
class NewCarrier:
    """The scan of what carries the unit from here on: it shows that the code can be read, and that it is the unit's."""

    kind: str
    unit: Item | None = None

    def asks(self, told: Told) -> Iterator[Question]:
        thing = Carrier(self.kind).label
        yield Question(
            "carrier",
            say("Scan the %(thing)s", thing=str(thing)),
            str(thing).capitalize(),
            partial(_names, unit=self.unit),
            hint=_("Put it on first: the scan shows that it can be read."),
            may_skip=_("It has none yet"),
            kind="carrier",
        )

    def tells(self, told: Told) -> dict[str, Any]:
        return {"carrier": told.get("carrier", "")}

    def data(self) -> dict[str, Any]:
        (question,) = self.asks({})
        return {"piece": "carrier", **question_data(question)}


def _names(text: str, unit: Item | None) -> None:
    """Refuse what carries the code of another unit, or of none, and a label that a newer one came after."""
    found = read_carrier(text)
    if unit is not None and (found.item is None or found.item.pk != unit.pk):
        raise Refused("wrong-carrier", WRONG, unit=unit.code, found=found.code)
    if unit is not None and found.is_old(carriers_of([unit.pk])):
        raise Refused("old-carrier", OLD, unit=unit.code, copy=found.copy)
