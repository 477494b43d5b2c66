"""Rows of a step: the record, its tools and readings, the counts that follow. Each function takes the open act."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import F
from django.db.models.functions import Greatest

from plant.catalogue.models import Operation, OperationReading
from plant.catalogue.queries import route_of
from plant.equipment.models import Tool
from plant.people.queries import is_qualified, works_day
from plant.quantities import TEXT, kind_of_unit, steps_of
from records.items.models import Item, Place
from records.ledger.acts import Act
from records.ledger.asking import Changing
from records.ledger.refusals import Refused
from records.ledger.statements import insert

from .models import StepReading, StepRecord, StepTool, ToolCycles, Waiting
from .queries import OnFile, done_operations, next_operation


@dataclass(frozen=True)
class Read:
    """A number or words read in a step, as written; or none with the reason why nothing could be read."""

    name: str
    value: str
    unit: str = ""
    reason: str = ""

    def as_read(self) -> list[str]:
        return [self.name, self.value, self.unit, *([self.reason] if self.reason else [])]


@dataclass(frozen=True)
class Step:
    """What is told of one attempt at an operation."""

    operation: Operation
    place: Place | None = None
    tools: Sequence[Tool] = ()
    readings: Sequence[Read] = ()
    began_at: datetime | None = None
    outcome: str = StepRecord.Outcome.DONE
    rules_seen: str = ""


def record_step(a: Act, unit: Item, step: Step, before: OnFile | None = None) -> StepRecord:
    """Write a step record with tools and readings; tools count a cycle, the unit waits for what comes next.

    ``before`` is what was on file of the unit under the lock of its state; none at its birth.
    """
    record = a.write(
        StepRecord(
            unit=unit,
            operation=step.operation,
            attempt=before.attempts.get(step.operation.pk, 0) + 1 if before else 1,
            place=step.place,
            began_at=step.began_at,
            ended_at=a.at,
            outcome=step.outcome,
            rules_seen=step.rules_seen,
        )
    )
    a.write_all(StepTool(step=record, tool=tool) for tool in step.tools)
    _write_readings(a, record, step)
    count_cycles(a, step.tools)
    done = {step.operation.name} if step.outcome == StepRecord.Outcome.DONE else set()
    if before is None:
        following = next_operation(route_of(unit.part, a.at), done)
        insert(Waiting(unit=unit, operation=following, since=a.at, entry=a.entry))
    else:
        _wait_for(a, unit, before.done | done)
    return record


def _write_readings(a: Act, record: StepRecord, step: Step) -> None:
    if not step.readings:
        return
    bands = {band.name: band for band in OperationReading.objects.filter(operation=step.operation)}
    for reading in step.readings:
        band = bands.get(reading.name)
        row = a.write(_reading_row(record, reading, band))
        if band is not None and row.value is not None and is_outside(row.value, band):
            a.flag("reading-outside", unit=record.unit_id, name=reading.name)


def _reading_row(record: StepRecord, reading: Read, band: OperationReading | None) -> StepReading:
    """The row of one reading, not written yet. Refuses ``unknown`` for none without a reason."""
    if not reading.value and not reading.reason:
        raise Refused(
            "unknown", "Nothing is told of %(name)s. Write it, or say why it can't be read.", name=reading.name
        )
    kind = band.unit_kind if band else kind_of_unit(reading.unit) if reading.unit else TEXT
    is_number = bool(reading.value) and kind != TEXT
    value = steps_of(reading.value, reading.unit, kind) if is_number else None
    written, reason = (reading.value, "") if reading.value else ("", reading.reason)
    told = {"name": reading.name, "unit_kind": kind, "unit": reading.unit, "written": written, "reason": reason}
    return StepReading(step=record, value=value, **told)


def is_outside(value: int, band: OperationReading) -> bool:
    """Whether a value lies outside the band of its operation; on a limit is inside."""
    return (band.lower is not None and value < band.lower) or (band.upper is not None and value > band.upper)


def count_cycles(a: Act, tools: Iterable[Tool], *, by: int = 1) -> None:
    """Each tool used counts one cycle more, or less where its use is taken back."""
    for tool in tools:
        told = {"tool": tool.pk, "by": by, "entry": a.entry.pk}
        if not _CYCLES.change(**told):
            ToolCycles.objects.get_or_create(tool=tool)
            _CYCLES.change(**told)


_CYCLES = Changing(
    lambda tool, by, entry: (ToolCycles.objects.filter(tool_id=tool), {"cycles": F("cycles") + by, "entry": entry})
)


def wait_for_next(a: Act, unit: Item) -> None:
    """Work out afresh which operation a unit waits for."""
    _wait_for(a, unit, done_operations([unit.pk])[unit.pk])


def _wait_for(a: Act, unit: Item, done: set[str]) -> None:
    """What a unit waits for, once these operations are done."""
    following = next_operation(route_of(unit.part, unit.born_at), done)
    _WAIT.change(unit=unit.pk, following=following.pk if following else None, at=a.at, entry=a.entry.pk)


_WAIT = Changing(
    lambda unit, following, at, entry: (
        Waiting.objects.filter(unit_id=unit),
        # What is told late does not shorten the wait.
        {"operation": following, "since": Greatest(F("since"), at), "entry": entry},
    )
)


def stop_unqualified(a: Act, operation: Operation) -> None:
    """Refuse or flag ``not-qualified`` where an operation asks for a qualification that the person lacks."""
    if operation.needs_qualification and not is_qualified(a.said.by, operation.name, works_day(a.at)):
        a.refuse_or_flag(
            "not-qualified", "You are not on the list for %(operation)s. Ask your lead.", operation=operation.name
        )


def fit_tools(tools: Sequence[Tool], operation: Operation) -> None:
    """Refuse ``wrong-kind`` when no tool of the kind that an operation asks for is among those scanned."""
    if tools and operation.tool_kind and operation.tool_kind not in {tool.kind for tool in tools}:
        raise Refused(
            "wrong-kind",
            "%(tool)s is a %(kind)s. %(operation)s needs a %(due)s.",
            tool=tools[0].code,
            kind=tools[0].kind,
            operation=operation.name,
            due=operation.tool_kind,
        )
