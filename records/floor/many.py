"""Scan many: one thing after another is scanned, then one press for all. What is offered, and what it must know."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.utils.translation import gettext_lazy

from plant.catalogue.carriers import OUTLIVES_PAINT
from plant.catalogue.models import Operation, OperationInput, OperationReading
from plant.speaking import say
from records.items.models import Consignment, ConsignmentLine
from records.items.queries import OUT, whereabouts
from records.release.queries import parties

# With fewer a unit by itself is quicker.
FEWEST_WAITING = 2


@dataclass(frozen=True)
class Many:
    """A kind of list: its entry, the act whose right it needs, its word, and the task that does without a script."""

    kind: str
    act: str
    word: Any
    plainly: str = ""


MANY: dict[str, Many] = {
    "step": Many("step", "step done", gettext_lazy("A step for many")),
    "out": Many("send-out", "sent out", gettext_lazy("Send out"), "out"),
    "back": Many("come-back", "come back", gettext_lazy("Take back in"), "back"),
    "here": Many("move", "item moved", gettext_lazy("Bring things here"), "move"),
    "ship": Many("ship", "shipped", gettext_lazy("Pack and ship")),
    "count": Many("count", "stock counted", gettext_lazy("Count by scanning")),
}


def in_one_go(operation: Operation) -> bool:
    """Whether several are logged by one press: nothing is asked of each unit but the carrier that is put on."""
    asked = OperationReading.objects.filter(operation=operation), OperationInput.objects.filter(operation=operation)
    return not any(rows.exists() for rows in asked)


def many_offered(may: Callable[[str], bool], waiting: Any) -> list[tuple[str, str, str]]:
    """What is offered for several at once: name, what its address tells already, and its word."""
    found = []
    if may("step done"):
        for operation in _shared(waiting):
            words = say("%(name)s, several at once", name=operation.name.replace("-", " ").capitalize())
            found.append(("step", f"?{urlencode({'operation': operation.name})}", words))
    others = [(name, "", str(many.word)) for name, many in MANY.items() if name != "step" and may(many.act)]
    return found + others


def _shared(waiting: Any) -> list[Operation]:
    """Operations that several of the units that wait here share, and that ask nothing of each."""
    by_name: dict[str, list[Operation]] = {}
    for row in waiting:
        by_name.setdefault(row.operation.name, []).append(row.operation)
    shared = [operations[0] for operations in by_name.values() if len(operations) >= FEWEST_WAITING]
    return [operation for operation in shared if in_one_go(operation)]


def many_data() -> dict[str, Any]:
    """What lists need to know besides: acts, who gets consignments, and what is out with whom."""
    acts = {name: many.act for name, many in MANY.items()}
    names = {"out": parties(Consignment.Direction.OUT), "ship": parties(Consignment.Direction.SHIP)}
    return {"acts": acts, "parties": names, "out": _out(), "outlives": list(OUTLIVES_PAINT)}


def _out() -> list[dict[str, Any]]:
    """Consignments that are out with something still to come back."""
    lines = ConsignmentLine.objects.standing().filter(consignment__direction=Consignment.Direction.OUT)
    lines = lines.select_related("consignment__place__party", "item__state").order_by("consignment", "pk")
    where = whereabouts(list({line.item_id for line in lines if line.item.state.has_left}))
    newest = {line.item_id: line.consignment_id for line in lines}
    found: dict[int, dict[str, Any]] = {}
    for line in lines:
        consignment = line.consignment
        told = {"code": consignment.code, "to": str(consignment.place), "units": [], "away": []}
        row = found.setdefault(consignment.pk, told)
        row["units"].append(line.item.code)
        here = where.get(line.item_id)
        if newest[line.item_id] == consignment.pk and here is not None and here.state == OUT:
            row["away"].append(line.item.code)
    return [row for row in found.values() if row["away"]]
