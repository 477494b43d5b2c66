"""Reads of a unit's way: what is on file, what comes next, who used which tool."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Max

from plant.catalogue.models import Operation, Part
from plant.catalogue.queries import route_of
from plant.equipment.models import Tool
from records.items.models import ConsignmentLine, Hold, Item
from records.items.queries import HERE, SCRAPPED, SHIPPED
from records.ledger.asking import Asking
from records.ledger.marks import Mark

from .again import still_waiting
from .models import MeasureAgain, StepRecord, StepTool, Waiting

SEND_OUT, COME_BACK, SHIP = "send-out", "come-back", "ship"
_WORDS = {"out": SEND_OUT, "back": COME_BACK, "ship": SHIP}


def to_measure_again(units: Iterable[int], at: datetime) -> dict[int, MeasureAgain]:
    """What of each unit is measured again, and not before later; one query."""
    rows = still_waiting().filter(unit_id__in=list(units), until__gt=at).select_related("operation")
    return {row.unit_id: row for row in rows.order_by("until", "pk")}


def done_operations(units: Iterable[int], mark: Mark | None = None) -> dict[int, set[str]]:
    """Names of the operations on file as done for each unit; what was done before rework is to be done once more."""
    found: dict[int, set[str]] = defaultdict(set)
    counts = {"outcome": StepRecord.Outcome.DONE, "status": StepRecord.Status.STANDS}
    rows = StepRecord.objects.standing(mark).filter(unit_id__in=list(units), **counts)
    for unit, name in rows.values_list("unit_id", "operation__name"):
        found[unit].add(name)
    return found


@dataclass(frozen=True)
class OnFile:
    """What is on file of one unit's steps: operations done, by name, and how often each was begun."""

    done: set[str]
    attempts: dict[int, int]


def steps_on_file(unit: int) -> OnFile:
    """Steps of one unit, asked for once: every step that is logged needs both."""
    newest: dict[int, tuple[int, str, str]] = {}
    attempts: dict[int, int] = {}
    for number, first, status, operation, name, attempt, outcome in _STEPS.rows(unit=unit):
        newest[first or number] = (status, outcome, name)  # in the order of their versions
        if first is None:
            attempts[operation] = max(attempt, attempts.get(operation, 0))
    stands, is_done = StepRecord.Status.STANDS, StepRecord.Outcome.DONE
    return OnFile(
        {name for status, outcome, name in newest.values() if (status, outcome) == (stands, is_done)}, attempts
    )


_STEPS = Asking(
    lambda _, unit: (
        StepRecord.objects.filter(unit_id=unit)
        .order_by("version", "pk")
        .values_list("pk", "first_id", "status", "operation_id", "operation__name", "attempt", "outcome")
    )
)


def missing_operations(unit: Item, route: list[Operation], before: Operation | None = None) -> list[str]:
    """Operations of the route that are not on file: all of them, or those before one."""
    return missing_of(done_operations([unit.pk])[unit.pk], route, before)


def missing_of(done: set[str], route: list[Operation], before: Operation | None = None) -> list[str]:
    """Operations of a route that are not among those done."""
    due = [operation for operation in route if before is None or operation.n < before.n]
    return [operation.name for operation in due if operation.name not in done]


def next_operation(route: list[Operation], done: set[str]) -> Operation | None:
    """First operation of a route that is not done."""
    return next((operation for operation in route if operation.name not in done), None)


def waiting_by_records() -> list[dict[str, Any]]:
    """What each unit waits for, and since when, as its step records give it."""
    rows = []
    units = Item.objects.filter(kind=Part.Tracked.UNIT).select_related("revision__part").order_by("pk")
    done = done_operations(unit.pk for unit in units)
    told = StepRecord.objects.order_by().values("unit_id").annotate(since=Max("entry__happened_at"))
    since = dict(told.values_list("unit_id", "since"))
    routes: dict[tuple[int, datetime], list[Operation]] = {}
    for unit in units:
        if unit.pk not in since:
            continue
        key = (unit.part.pk, unit.born_at)
        if key not in routes:
            routes[key] = route_of(unit.part, unit.born_at)
        following = next_operation(routes[key], done[unit.pk])
        rows.append({"unit_id": unit.pk, "operation_id": following.pk if following else None, "since": since[unit.pk]})
    return rows


def way_of(unit: Item, mark: Mark | None = None) -> list[tuple[datetime, str]]:
    """Everything that happened to a unit on its way, in order: steps, out and back, shipped."""
    steps = StepRecord.objects.standing(mark).filter(unit=unit)
    found = [(at, entry, name) for at, entry, name in steps.values_list("ended_at", "entry_id", "operation__name")]
    lines = ConsignmentLine.objects.standing(mark).filter(item=unit)
    found += [
        (at, entry, _WORDS[direction])
        for at, entry, direction in lines.values_list("consignment__at", "entry_id", "consignment__direction")
    ]
    return [(at, name) for at, _, name in sorted(found)]


def units_of_tool(tool: Tool, start: datetime, stop: datetime, mark: Mark | None = None) -> list[int]:
    """Units made or worked with a tool from ``start`` up to, not with, ``stop``."""
    standing = StepRecord.objects.standing(mark).filter(ended_at__gte=start, ended_at__lt=stop)
    uses = StepTool.objects.filter(tool=tool, step__in=standing.values("pk"))
    return sorted(set(uses.values_list("step__unit_id", flat=True)))


def traits_of_steps(units: Iterable[int], mark: Mark | None = None) -> dict[int, dict[str, set[int]]]:
    """Tools and persons of the steps of each unit."""
    wanted = list(units)
    found: dict[int, dict[str, set[int]]] = {unit: {"tool": set(), "person": set()} for unit in wanted}
    standing = StepRecord.objects.standing(mark).filter(unit_id__in=wanted)
    for unit, person in standing.values_list("unit_id", "entry__by_id"):
        found[unit]["person"].add(person)
    uses = StepTool.objects.filter(step__in=standing.values("pk"))
    for unit, tool in uses.values_list("step__unit_id", "tool_id"):
        found[unit]["tool"].add(tool)
    return found


@dataclass(frozen=True)
class Queue:
    """Units that wait for one operation of one part, the longest first."""

    part: Part
    operation: Operation
    units: tuple[Waiting, ...]

    @property
    def since(self) -> datetime:
        return self.units[0].since


def queues() -> list[Queue]:
    """Units here that wait, by part and operation in the order of the route; one query."""
    rows = Waiting.objects.filter(operation__isnull=False, unit__state__where=HERE).order_by("since", "pk")
    waiting: dict[tuple[int, str], list[Waiting]] = defaultdict(list)
    for row in rows.select_related("operation", "unit__state__place__station", "unit__revision__part"):
        # Units of an older route wait for the same operation by its name.
        waiting[row.unit.part.pk, row.operation.name].append(row)  # type: ignore[union-attr]
    found = [Queue(units[0].unit.part, units[-1].operation, tuple(units)) for units in waiting.values()]  # type: ignore[arg-type]
    return sorted(found, key=lambda queue: (queue.part.number, queue.operation.n))


def held_items() -> list[Hold]:
    """Holds that bind on what is here, the oldest first."""
    rows = Hold.objects.filter(lift=None).exclude(item__state__where__in=(SHIPPED, SCRAPPED))
    related = ("item__state__place__station", "item__revision__part", "words", "entry__by__name_words", "operation")
    return list(rows.select_related(*related).order_by("at", "pk"))
