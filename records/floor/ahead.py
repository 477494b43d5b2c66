"""What a unit still needs before it goes on: measures that nobody has read, its last step once more where it lapsed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from plant.catalogue.models import Operation, OperationAsk
from plant.speaking import word
from records.inspection.models import Measurement
from records.items.models import Item
from records.ledger.canonical import time_text
from records.steps.checks import checks_of_all
from records.steps.models import StepRecord, Waiting

from .waits import counts_until

Data = dict[str, Any]


def unmeasured(unit: Item, route: Sequence[Operation], operation: Operation | None) -> list[tuple[str, str]]:
    """Each step up to the one that is next, with the measures that it asks for and nobody has read: without them
    nothing is released, and a step that was logged without its own is past.
    """
    reached = [step for step in route if operation is None or step.n <= operation.n]
    asked = asks_of(reached)
    read = measured_on([unit.pk]).get(unit.pk, set())
    missing = [(step.name, [name for name in asked.get(step.pk, ()) if name not in read]) for step in reached]
    return [(step, ", ".join(word(name.replace("-", " ")) for name in names)) for step, names in missing if names]


def asks_of(operations: Iterable[Operation]) -> dict[int, list[str]]:
    """Measures that operations ask for; one query."""
    found: dict[int, list[str]] = defaultdict(list)
    rows = OperationAsk.objects.filter(operation__in=[one.pk for one in operations], what=OperationAsk.What.MEASURE)
    for operation, name in rows.order_by("pk").values_list("operation_id", "name"):
        found[operation].append(name)
    return found


def measured_on(units: Collection[int]) -> dict[int, set[str]]:
    """What is on file as read on units: of several readings of one thing the latest counts; one query."""
    latest: dict[tuple[int, str], bool] = {}
    rows = Measurement.objects.standing().filter(unit__in=units).order_by("at", "pk")
    for unit, name, value in rows.values_list("unit", "characteristic_revision__characteristic__name", "value"):
        latest[unit, name] = value is not None
    found: dict[int, set[str]] = defaultdict(set)
    for (unit, name), is_read in latest.items():
        if is_read:
            found[unit].add(name)
    return found


def ahead_of(rows: Sequence[Waiting], done: Mapping[int, set[str]], now: datetime) -> dict[int, Data]:
    """By unit what the tablet takes along of it; a fixed number of queries."""
    routes = _routes_of(rows)
    checks = checks_of_all(routes, now)
    measured = measured_on([row.unit_id for row in rows])
    told: dict[int, Data] = {}
    for row in rows:
        unit, route = row.unit_id, routes.get(row.unit_id, [])
        until = counts_until(checks.get(unit, ()), done[unit], route, now) if row.operation else None
        told[unit] = {"checked_until": time_text(until) if until else "", "measured": sorted(measured.get(unit, ()))}
        last = next((one for one in checks.get(unit, ()) if route and one.operation == route[-1]), None)
        if row.operation is None and route:
            told[unit]["route"] = route[0].route_revision_id
            if last is not None and last.until is not None:
                told[unit]["ready"] = {"until": time_text(last.until), "good": last.is_good}
    return told


def _routes_of(rows: Sequence[Waiting]) -> dict[int, list[Operation]]:
    """The route that each unit is on, or that it has behind it: that of its last step."""
    on = {row.unit_id: row.operation.route_revision_id for row in rows if row.operation}
    behind = [row.unit_id for row in rows if row.operation is None]
    steps = StepRecord.objects.newest().filter(unit__in=behind, status=StepRecord.Status.STANDS)
    on |= dict(steps.order_by("ended_at", "pk").values_list("unit", "operation__route_revision"))
    along: dict[int, list[Operation]] = defaultdict(list)
    operations = Operation.objects.filter(route_revision__in=set(on.values())).select_related("lapse")
    for operation in operations.order_by("route_revision", "n"):
        along[operation.route_revision_id].append(operation)
    return {unit: along[revision] for unit, revision in on.items()}
