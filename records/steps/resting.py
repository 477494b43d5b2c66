"""How long a unit rests after a step, by its route, before the next one: resin cures, a bond sets, paint dries.

The route that the unit began with says so, whatever a later revision says. How long that must be, engineers take from
the supplier's data sheet; here only the time is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import QuerySet
from django.utils.translation import gettext_noop as _

from plant.catalogue.models import Operation, OperationRest
from plant.catalogue.queries import rest_ms
from plant.people.queries import works_zone
from records.items.gates import Gate
from records.items.models import Item
from records.ledger.refusals import Refused

from .models import StepRecord, Waiting

TOO_EARLY = "too-early"
WORDS = _("%(unit)s rests after %(after)s until %(until)s. Go on with %(step)s then.")


@dataclass(frozen=True)
class Rest:
    """A rest of a unit: after which step, before which, and the moment from which on that may be logged."""

    unit: Item
    after: str
    step: str
    until: datetime

    def fault(self, at: datetime) -> Refused | None:
        """Why the next step comes too early; nothing where it does not."""
        if at >= self.until:
            return None
        facts = {"unit": self.unit.code, "after": self.after, "until": moment_words(self.until, at), "step": self.step}
        return Refused(TOO_EARLY, WORDS, **facts)


def moment_words(moment: datetime, at: datetime) -> str:
    """Time of day by the clocks of the works, with the day where that is another one; alike in each language."""
    local = moment.astimezone(works_zone())
    return f"{local:%H:%M}" if local.date() == at.astimezone(works_zone()).date() else f"{local:%Y-%m-%d %H:%M}"


def rest_before(unit: Item, route: Sequence[Operation], operation: Operation) -> Rest | None:
    """The rest before an operation of a unit's route, over or not; none where the step before asks for none.

    It counts from the last time that the step before was done; one that was not done is asked for elsewhere.
    """
    before = next((one for one in route if one.n == operation.n - 1), None)
    if before is None or not rest_ms(before):
        return None
    steps = _done().filter(unit=unit, operation__name=before.name).order_by("-ended_at", "-pk")
    ended = steps.values_list("ended_at", flat=True).first()
    if ended is None:
        return None
    return Rest(unit, before.name, operation.name, ended + timedelta(milliseconds=rest_ms(before)))


def stop_unrested(a: Gate, unit: Item, route: Sequence[Operation], operation: Operation) -> None:
    """Refuse or flag ``too-early`` a step that comes before the rest of the one before it is over."""
    rest = rest_before(unit, route, operation)
    fault = rest.fault(a.at) if rest else None
    if fault is not None:
        a.refuse_or_flag(fault.code, WORDS, **fault.facts)


def rests_of(rows: Iterable[Waiting]) -> dict[int, Rest]:
    """The rest, over or not, of each unit that waits for the step after one; two queries for any number of units."""
    waiting = [row for row in rows if row.operation]
    routes = {row.operation.route_revision_id for row in waiting if row.operation}
    resting = {
        (rest.operation.route_revision_id, rest.operation.n + 1): rest
        for rest in OperationRest.objects.filter(operation__route_revision__in=routes).select_related("operation")
    }
    wanted: dict[int, tuple[Waiting, OperationRest]] = {}
    for row in waiting:
        operation = row.operation
        rest = resting.get((operation.route_revision_id, operation.n)) if operation else None
        if rest is not None:
            wanted[row.unit_id] = row, rest
    if not wanted:
        return {}
    found = {}
    steps = _done().filter(unit__in=wanted, operation__name__in={rest.operation.name for _, rest in wanted.values()})
    for unit, name, ended in steps.order_by("ended_at", "pk").values_list("unit_id", "operation__name", "ended_at"):
        row, rest = wanted[unit]
        if rest.operation.name == name and row.operation is not None:
            until = ended + timedelta(milliseconds=rest.least_ms)
            found[unit] = Rest(row.unit, name, row.operation.name, until)
    return found


def _done() -> QuerySet[StepRecord]:
    return StepRecord.objects.newest().filter(status=StepRecord.Status.STANDS, outcome=StepRecord.Outcome.DONE)
