"""What must hold before resin goes into a closed mould, and before it is opened: checks that lapse, gauges at zero.

A check belongs to one closing: the first operation of the route closes the mould, and closing it again makes every
check before it void. A changed bladder, a mould opened to look: both end in another closing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.utils.translation import gettext_noop as _

from plant.catalogue.models import Operation, OperationReading
from plant.catalogue.queries import good_for_ms, route_of
from plant.people.queries import works_zone
from records.items.gates import Gate
from records.items.models import Item
from records.ledger.refusals import Refused

from .models import StepReading, StepRecord
from .queries import missing_operations
from .recording import is_outside


@dataclass(frozen=True)
class Check:
    """A check of a unit's last closing: when it was done, until when it holds, and whether it came out."""

    operation: Operation
    until: datetime | None = None
    is_good: bool = False

    def holds(self, at: datetime) -> bool:
        """Whether it may be relied on at a moment."""
        return self.is_good and self.until is not None and at <= self.until

    @property
    def ends(self) -> str:
        """Time of day to which it holds, as the clocks of the works show it."""
        return self.until.astimezone(works_zone()).strftime("%H:%M") if self.until else ""

    def fault(self, at: datetime) -> tuple[str, str] | None:
        """Code and words of why it may not be relied on; nothing where it may."""
        if self.holds(at):
            return None
        if self.until is None:
            return MISSING, _("No %(step)s since this mould was closed. That comes first.")
        if not self.is_good:
            return MISSING, _("The %(step)s of this closing did not come out. Test again before you weigh a pot.")
        return LAPSED, _("The %(step)s was good until %(until)s. Test again before you weigh a pot.")


MISSING, LAPSED, NOT_VENTED = "leak-test-missing", "leak-test-lapsed", "not-vented"
UNPREPARED = "not-prepared"


@dataclass
class Told:
    """The last that was told of each operation of a unit, and which of them lie outside."""

    latest: dict[str, StepRecord] = field(default_factory=dict)
    outside: set[int] = field(default_factory=set)

    def is_done(self, operation: Operation, since: datetime | None = None) -> bool:
        """Whether the last attempt came out, within its bands; only one ``since`` a moment counts."""
        step = self.of(operation, since)
        return step is not None and step.outcome == StepRecord.Outcome.DONE and step.pk not in self.outside

    def of(self, operation: Operation, since: datetime | None = None) -> StepRecord | None:
        step = self.latest.get(operation.name)
        return None if step is None or (since is not None and step.ended_at < since) else step


def checks_of(unit: Item, route: Sequence[Operation], at: datetime) -> list[Check]:
    """Checks of a unit's last closing, in the order of its route."""
    return checks_of_all({unit.pk: route}, at)[unit.pk]


def checks_of_all(routes: Mapping[int, Sequence[Operation]], at: datetime) -> dict[int, list[Check]]:
    """Checks of the last closing of each unit, by its route; the same few queries for any number of units."""
    wanted = {unit: [o for o in route if good_for_ms(o)] for unit, route in routes.items()}
    told = _told_of([unit for unit, lapsing in wanted.items() if lapsing], at)
    return {
        unit: [_check(operation, routes[unit][0], told[unit]) for operation in lapsing]
        for unit, lapsing in wanted.items()
    }


def before(checks: Iterable[Check], operation: Operation | None) -> list[Check]:
    """The checks that come before an operation of the route."""
    return [check for check in checks if operation is not None and check.operation.n < operation.n]


def _check(operation: Operation, closes: Operation, told: Told) -> Check:
    closed = told.of(closes)
    since = closed.ended_at if closed else None
    step = told.of(operation, since)
    if step is None:
        return Check(operation)
    until = step.ended_at + timedelta(milliseconds=good_for_ms(operation))
    return Check(operation, until, told.is_done(operation, since))


def _told_of(units: Iterable[int], at: datetime) -> dict[int, Told]:
    found: dict[int, Told] = defaultdict(Told)
    units = list(units)
    if not units:
        return found
    # What rework has ended is to be done once more: it shows nothing of the unit as it is.
    steps = StepRecord.objects.newest().filter(unit_id__in=units, ended_at__lte=at, status=StepRecord.Status.STANDS)
    steps = steps.select_related("operation")
    for step in steps.order_by("ended_at", "pk"):
        found[step.unit_id].latest[step.operation.name] = step
    latest = {step.pk: step for told in found.values() for step in told.latest.values()}
    bands = {
        (band.operation_id, band.name): band
        for band in OperationReading.objects.filter(operation__in={step.operation_id for step in latest.values()})
    }
    for reading in StepReading.objects.filter(step__in=latest):
        step = latest[reading.step_id]
        band = bands.get((step.operation_id, reading.name))
        if reading.reason or (band and reading.value is not None and is_outside(reading.value, band)):
            found[step.unit_id].outside.add(step.pk)
    return found


def stop_unchecked(a: Gate, unit: Item, route: Sequence[Operation], operation: Operation) -> None:
    """Refuse or flag what goes into a mould whose leak test, or another check that lapses, does not hold."""
    for check in checks_of(unit, route, a.at):
        fault = check.fault(a.at)
        if fault and check.operation.n < operation.n:
            a.refuse_or_flag(*fault, unit=unit.code, step=check.operation.name, until=check.ends)


def made_ready(unit: Item, route: Sequence[Operation], at: datetime) -> Check | None:
    """The last step of a route, where that lapses: until then the unit may go into another one."""
    last = route[-1] if route else None
    if last is None or not good_for_ms(last):
        return None
    return next(one for one in checks_of(unit, route, at) if one.operation == last)


def unready(unit: Item, check: Check | None, at: datetime) -> Refused | None:
    """Why a unit that was made ready may not go into another one at a moment, and what to do."""
    if check is None or check.holds(at):
        return None
    words = _("The %(step)s of %(unit)s was good until %(until)s. Do it again before you go on.")
    return Refused(UNPREPARED, words, unit=unit.code, step=check.operation.name, until=check.ends)


def stop_unfinished(a: Gate, unit: Item) -> None:
    """Refuse or flag a unit that goes into another one without its whole route, or too long after the last step."""
    route = route_of(unit.part, unit.born_at)
    if missing := missing_operations(unit, route):
        words = _("%(unit)s has not been through %(step)s. That comes first.")
        a.refuse_or_flag("out-of-order", words, unit=unit.code, step=missing[0])
        return
    if fault := unready(unit, made_ready(unit, route, a.at), a.at):
        a.refuse_or_flag(fault.code, fault.words, **fault.facts)


def stop_unvented(a: Gate, unit: Item, route: Sequence[Operation], operation: Operation) -> None:
    """Refuse or flag a step that makes safe before those that come before it: a mould is opened at zero only.

    One that was done before the mould was closed last says nothing of the pressure in it now.
    """
    for one, words in unsafe_before(unit, route, operation, a.at):
        a.refuse_or_flag(NOT_VENTED, words, unit=unit.code, step=one.name)


def unsafe_before(
    unit: Item, route: Sequence[Operation], operation: Operation, at: datetime
) -> list[tuple[Operation, str]]:
    """Steps that make safe, come before an operation, and were not done or did not come out; each with why."""
    earlier = [o for o in route if o.makes_safe and o.n < operation.n]
    return _unsafe(earlier, route[0], _told_of([unit.pk], at)[unit.pk]) if earlier else []


def unsafe_of_all(routes: Mapping[int, Sequence[Operation]], at: datetime) -> dict[int, list[str]]:
    """By unit the names of the steps of its route that make safe and do not stand as done well; a few queries."""
    told = _told_of(routes, at)
    return {
        unit: [one.name for one, _why in _unsafe([o for o in route if o.makes_safe], route[0], told[unit])]
        for unit, route in routes.items()
        if route
    }


def _unsafe(steps: Sequence[Operation], closes: Operation, told: Told) -> list[tuple[Operation, str]]:
    closed = told.of(closes)
    since = closed.ended_at if closed else None
    found = []
    for one in steps:
        if told.of(one, since) is None:
            found.append((one, _("No %(step)s of %(unit)s is on file. Make it safe before you open it.")))
        elif not told.is_done(one, since):
            found.append((one, _("The %(step)s of %(unit)s did not come out. Make it safe before you open it.")))
    return found
