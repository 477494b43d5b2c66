"""A unit is worked on: an operation of its route is done, fails, or is interrupted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from plant.catalogue.models import Operation
from plant.catalogue.queries import good_for_ms, route_of
from plant.codes import fold
from plant.equipment.queries import tool_by_code
from plant.people.queries import works_zone
from records.items.actions.correcting import entry_of
from records.items.gates import hold_by_cause, stop_gone, stop_held, stop_used
from records.items.locking import lock_items
from records.items.making import come_to, link_lots, place_named
from records.items.models import Item
from records.ledger.acts import Act, Free, Said, act
from records.ledger.asking import Asking
from records.ledger.refusals import Refused

from ..again import still_waiting
from ..carrying import carry_on, take_back_carriers
from ..checks import stop_unchecked, stop_unvented
from ..filling import Shot, going_in, inputs_of, lock_with_shots, shots_drawn, unit_at
from ..models import StepReading, StepRecord, StepTool
from ..queries import missing_of, steps_on_file
from ..recording import Read, Step, count_cycles, fit_tools, record_step, stop_unqualified, wait_for_next
from ..resting import stop_unrested


@dataclass(frozen=True)
class Work:
    """How an operation was done. ``carrier`` is what was read on the carrier that it put on the unit."""

    station: str = ""
    tools: Sequence[str] = ()
    readings: Sequence[Read] = ()
    began_at: datetime | None = None
    outcome: str = StepRecord.Outcome.DONE
    rules_seen: str = ""
    shots: Sequence[Shot] = ()
    carrier: str = ""

    def as_read(self) -> dict[str, Any]:
        shots = {"shots": [shot.as_read() for shot in self.shots]} if self.shots else {}
        carrier = {"carrier": self.carrier} if self.carrier else {}
        return (
            shots
            | carrier
            | {
                "station": self.station.strip(),
                "tools": [fold(tool) for tool in self.tools],
                "readings": [read.as_read() for read in self.readings],
                "began_at": self.began_at,
                "outcome": self.outcome,
                "rules_seen": self.rules_seen,
            }
        )


def log_step(unit: str, *, step: str, work: Work | None = None, said: Said) -> StepRecord:
    """Log an attempt at an operation of a unit's route; the mould that holds the unit may stand for its code.

    No hold stops a step that makes a thing safe, only the order of such steps and the rest before them. Refuses
    ``unknown``, ``wrong-kind`` for a step that is not on the route; at the gate ``held``, ``out-of-order``,
    ``scrapped``, ``not-here``, ``already-used``, ``not-qualified``, ``not-vented``, ``too-early``, ``waits``; where
    something goes in also as any use of a lot, ``no-pot``, ``leak-test-missing`` and ``leak-test-lapsed``;
    ``wrong-carrier`` and ``old-carrier`` for what was read on the unit. None read where one was to be put on is flagged
    ``no-carrier``.
    """
    work = work or Work()
    with act("step done", said, unit=fold(unit), step=step, **work.as_read()) as a:
        if a.made:
            return StepRecord.objects.get(entry=a.entry)
        item = unit_at(unit, a.at)
        route = route_of(item.part, item.born_at)
        operation = operation_named(item, route, step)
        tools = [tool_by_code(code) for code in work.tools]
        fit_tools(tools, operation)
        is_done = work.outcome == StepRecord.Outcome.DONE
        goes_in = going_in(a, operation, work.shots, is_done=is_done)
        lock_with_shots(item, goes_in)
        before = steps_on_file(item.pk)
        if operation.makes_safe:
            stop_unvented(a, item, route, operation)
        else:
            _ask_gates(a, item, route, operation, before.done)
        if is_done:
            stop_unrested(a, item, route, operation)
        drawn = shots_drawn(a, operation, goes_in, is_done=is_done)
        place = place_named(a, work.station)
        record = record_step(
            a,
            item,
            Step(operation, place, tools, work.readings, work.began_at, work.outcome, work.rules_seen),
            before,
        )
        link_lots(a, item, drawn)
        if is_done or work.carrier:
            carry_on(a, item, operation, tools, work.carrier)
        come_to(a, [item], place)
        hold_by_cause(a, [item])
        return record


def operation_named(item: Item, route: list[Operation], step: str) -> Operation:
    """Operation of a unit's route by name. Refuses ``wrong-kind``."""
    for operation in route:
        if operation.name == step.strip():
            return operation
    raise Refused("wrong-kind", "%(step)s is not on the route of %(part)s.", step=step, part=item.part.number)


def _ask_gates(a: Act, item: Item, route: list[Operation], operation: Operation, done: set[str]) -> None:
    stop_unqualified(a, operation)
    stop_gone(a, [item])
    stop_used(a, [item])
    stop_held(a, [item], operation)
    _stop_waiting(a, item, operation)
    goes_in = bool(inputs_of(operation))
    if goes_in:
        stop_unchecked(a, item, route, operation)
    due = [one for one in route if not (goes_in and good_for_ms(one))]  # a check is asked by its own closing
    missing = missing_of(done, due, operation)
    if missing:
        a.refuse_or_flag(
            "out-of-order", "%(unit)s has not been through %(step)s. That comes first.", unit=item.code, step=missing[0]
        )


def _stop_waiting(a: Act, item: Item, operation: Operation) -> None:
    """Refuse or flag ``waits`` for an operation whose reading outside its band is to be measured again later."""
    for last, name in _WAITS.rows(unit=item.pk, operation=operation.pk, at=a.at):
        until = last.astimezone(works_zone()).strftime("%H:%M")
        words = "%(unit)s waits until %(until)s: then %(name)s is measured again."
        a.refuse_or_flag("waits", words, unit=item.code, until=until, name=name)


_WAITS = Asking(
    lambda _, unit, operation, at: (
        still_waiting()
        .filter(unit_id=unit, operation_id=operation, until__gt=at)
        .order_by("-until", "-pk")
        .values_list("until", "name")[:1]
    )
)


def withdraw_step(of: UUID, *, words: str, said: Said) -> StepRecord:
    """Take back a step that was logged by mistake. Refuses ``unknown`` where it no longer stands."""
    with act("entry withdrawn", said, of=of, words=Free(words)) as a:
        if a.made:
            return StepRecord.objects.get(entry=a.entry)
        entry = entry_of(of)
        record = StepRecord.objects.newest().filter(status=StepRecord.Status.STANDS, entry=entry).first()
        if record is None:
            raise Refused("unknown", "No step of this entry stands any more.")
        lock_items([record.unit])
        withdrawn = a.write(record.next_version(status=StepRecord.Status.WITHDRAWN))
        count_cycles(a, [use.tool for use in record.tools.select_related("tool")], by=-1)
        take_back_carriers(a, entry.pk)
        wait_for_next(a, record.unit)
        return withdrawn


def move_steps(a: Act, one: Item, other: Item, since: datetime) -> None:
    """Steps recorded since a moment go from each of two units to the other, in an open act."""
    opposite = {one.pk: other, other.pk: one}
    standing = StepRecord.objects.newest().filter(
        unit_id__in=list(opposite), status=StepRecord.Status.STANDS, ended_at__gte=since
    )
    records = list(standing.order_by("ended_at", "pk"))
    for record in records:
        a.write(record.next_version(status=StepRecord.Status.WITHDRAWN))
    for record in records:
        unit = opposite[record.unit_id]
        last = StepRecord.objects.filter(unit=unit, operation=record.operation).order_by("-attempt").first()
        moved = StepRecord(
            unit=unit,
            operation=record.operation,
            attempt=last.attempt + 1 if last else 1,
            place=record.place,
            began_at=record.began_at,
            ended_at=record.ended_at,
            outcome=record.outcome,
        )
        a.write(moved)
        _copy_details(a, record, moved)
    for unit in (one, other) if records else ():
        wait_for_next(a, unit)


def _copy_details(a: Act, record: StepRecord, moved: StepRecord) -> None:
    a.write_all(StepTool(step=moved, tool_id=use.tool_id) for use in StepTool.objects.filter(step=record))
    a.write_all(
        StepReading(
            step=moved,
            name=reading.name,
            value=reading.value,
            unit_kind=reading.unit_kind,
            unit=reading.unit,
            written=reading.written,
            reason=reading.reason,
        )
        for reading in StepReading.objects.filter(step=record)
    )
