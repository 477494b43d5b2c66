"""A step that comes before its unit has rested: asked before anything else of it, marked where it is done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from plant.catalogue.queries import route_of
from plant.speaking import say
from records.items.making import unit_for
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.steps.resting import rest_before

from .asking import Choice, Question, Told
from .tasks import Task


def not_rested() -> tuple[Choice, ...]:
    """What may be told where a step comes too early."""
    return (
        Choice("again", _("Not yet: it goes on resting"), _("Nothing is kept.")),
        Choice("done", _("It has been done already"), _("It is kept and marked, and Review is told.")),
    )


@dataclass(frozen=True)
class Resting:
    """What stands before a task that comes too early; it tells nothing."""

    fault: Refused

    def asks(self, told: Told) -> Iterator[Question]:
        asked = say("%(unit)s rests until %(until)s", **self.fault.facts)
        tells = say("Its route asks for that time between %(after)s and %(step)s.", **self.fault.facts)
        yield Question("rest-stop", asked, "Stop", choices=not_rested(), tells=tells, kind="choice", again_at="../")

    def tells(self, told: Told) -> dict[str, object]:
        return {}

    def data(self) -> dict[str, object]:
        return {}


def once_rested(task: Task) -> Task:
    """The task with a question in front while the rest before its operation is not over; the tablet asks it alike."""
    if task.kind != "step" or task.operation is None or not task.unit:
        return task
    unit, now = unit_for(task.unit), clock.now()
    rest = rest_before(unit, route_of(unit.part, unit.born_at), task.operation)
    fault = rest.fault(now) if rest else None
    return replace(task, pieces=[Resting(fault), *task.pieces]) if fault else task
