"""Operations that only people on a list may log: asked before anything else of a task, marked where it is done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from plant.people.models import Person
from plant.people.queries import is_qualified, works_day
from records.ledger.clock import clock

from .asking import Choice, Question, Told
from .tasks import Task


def not_listed() -> tuple[Choice, ...]:
    """What somebody may answer who is not on the list; to leave it stands beside."""
    return (Choice("done", _("It has been done already"), _("It is kept and marked, and Review is told.")),)


@dataclass(frozen=True)
class ForTheListed:
    """What stands before a task of somebody who is not on its list; it tells nothing."""

    operation: str

    def asks(self, told: Told) -> Iterator[Question]:
        asked = _("You are not on the list for %(operation)s.") % {"operation": self.operation}
        tells = _("Ask your lead: somebody on the list does it, or you are put on it.")
        yield Question("list-stop", asked, "Stop", choices=not_listed(), tells=tells)

    def tells(self, told: Told) -> dict[str, object]:
        return {}

    def data(self) -> dict[str, object]:
        return {}


def needs_list(task: Task) -> bool:
    """Whether a task is for people on a list; what makes a thing safe is for everybody."""
    return task.operation is not None and task.operation.needs_qualification and not task.operation.makes_safe


def for_person(task: Task, person: Person) -> Task:
    """The task as somebody walks it: with a stop in front where this person is not on its list."""
    if task.operation is None or not needs_list(task):
        return task
    if is_qualified(person, task.operation.name, works_day(clock.now())):
        return task
    return replace(task, pieces=[ForTheListed(task.operation.name), *task.pieces])
