"""A closed mould is opened at zero: what was not made safe is asked about before the step that opens it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from django.utils.translation import gettext as _

from plant.catalogue.queries import route_of
from plant.speaking import say
from records.items.making import unit_for
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.steps.checks import NOT_VENTED, unsafe_before

from .asking import Choice, Question, Told
from .tasks import Task


def not_safe() -> Sequence[Choice]:
    """What may be told where a mould is not safe to open."""
    return (
        Choice("again", _("Not yet: it is made safe first"), _("Nothing is kept.")),
        Choice("done", _("It has been done already"), _("It is kept and marked, and Review is told.")),
    )


@dataclass(frozen=True)
class Unsafe:
    """What stands before a step that opens a mould which was not made safe; it tells nothing."""

    unit: str
    step: str  # that comes first
    words: str

    def asks(self, told: Told) -> Iterator[Question]:
        asked = say("Do not open %(unit)s yet", unit=self.unit)
        tells = str(Refused(NOT_VENTED, self.words, unit=self.unit, step=self.step))
        address = urlencode({"unit": self.unit, "operation": self.step})
        yield Question(
            "safe-stop", asked, "Stop", choices=not_safe(), tells=tells, kind="choice", again_at=f"step/?{address}"
        )

    def tells(self, told: Told) -> dict[str, object]:
        return {}

    def data(self) -> dict[str, object]:
        return {}


def once_safe(task: Task) -> Task:
    """The task with a question in front while what makes safe before it is not done well; the tablet asks it alike."""
    if task.kind != "step" or task.operation is None or not task.operation.makes_safe or not task.unit:
        return task
    unit = unit_for(task.unit)
    unsafe = unsafe_before(unit, route_of(unit.part, unit.born_at), task.operation, clock.now())
    if not unsafe:
        return task
    first, words = unsafe[0]
    return replace(task, pieces=[Unsafe(unit.code, first.name, words), *task.pieces])
