"""A reading outside its band that waits: how long there is, and the entry that keeps it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from plant.catalogue.models import Operation, Part
from plant.catalogue.queries import route_of
from records.items.making import unit_for
from records.items.models import Item
from records.items.pots import standing_pots
from records.ledger.clock import clock
from records.steps.checks import Check, checks_of
from records.steps.queries import done_operations

from .asking import Question, Told
from .moulding import takes_pot
from .numbers import WAIT_MIN
from .pieces import Readings, Values
from .tasks import Task

Data = dict[str, object]


def may_wait(task: Task) -> Task:
    """The task with the time that a number outside its band may wait; none where no unit is on file yet."""
    if not task.unit:
        return task
    minutes = longest_wait(unit_for(task.unit), clock.now())
    pieces = [
        replace(piece, wait_min=minutes) if isinstance(piece, Readings | Values) else piece for piece in task.pieces
    ]
    return replace(task, pieces=pieces)


def longest_wait(unit: Item, at: datetime) -> int:
    """How long a unit may wait before it is measured again. [min]

    Never longer than what was checked of it holds, nor than an open pot has while it is still to be filled.
    """
    route = route_of(unit.part, unit.born_at)
    done = done_operations([unit.pk])[unit.pk]
    until = counts_until(checks_of(unit, route, at), done, route, at)
    ends = [until] if until else []
    if waits_for_pot(route, done):
        ends += [pot.ends_at for pot in standing_pots(at, ended=False) if pot.item.part.kind == Part.Kind.RESIN_MIX]
    return min([WAIT_MIN, *(int((end - at).total_seconds() // 60) for end in ends)])


def waits_for_pot(route: Iterable[Operation], done: Collection[str]) -> bool:
    """Whether a unit is still to be filled."""
    return any(takes_pot(step) and step.name not in done for step in route)


def counts_until(
    checks: Iterable[Check], done: Iterable[str], route: Sequence[Operation], at: datetime
) -> datetime | None:
    """Until when the checks of a closing hold, while they still matter: none do once something has gone in."""
    good = [check for check in checks if check.until is not None and check.holds(at)]
    names, last = set(done), max((check.operation.n for check in good), default=0)
    if any(step.name in names and step.n > last for step in route):
        return None
    return min((check.until for check in good if check.until is not None), default=None)


def waits_told(answered: Sequence[Question], told: Told) -> tuple[Question, Question] | None:
    """The number outside its band that is to be measured again later, and the question that said so."""
    asked = {question.name: question for question in answered}
    for name, question in asked.items():
        if name.endswith("-outside") and told.get(name) == "wait":
            return asked[name.removesuffix("-outside")], question
    return None


def wait_payload(unit: str, operation: Operation | None, waits: tuple[Question, Question], told: Told) -> Data:
    """Fields of the entry that keeps it."""
    number, outside = waits
    read = {"reading": number.word, "value": told[number.name], "of": number.unit}
    return {"unit": unit, "operation": operation.name if operation else "", "minutes": outside.wait_min, **read}
