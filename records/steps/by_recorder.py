"""A check that a recorder has watched: the judged curve stands for the step, so that nobody logs it by hand as well.

It belongs to the closing in which it was begun. One that was logged by hand meanwhile is the same test: it stands.
Takes the open act of the room that judges curves.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from plant.catalogue.models import Operation
from plant.catalogue.queries import good_for_ms, route_of
from records.items.models import Item
from records.ledger.acts import Act

from .models import StepRecord
from .queries import steps_on_file
from .recording import wait_for_next


def note_checks(a: Act, units: Iterable[Item], name: str, span: tuple[datetime, datetime], *, is_good: bool) -> None:
    """Note a check that lapses, of each unit whose route has one of this name. Their state rows are locked."""
    for unit in units:
        route = route_of(unit.part, unit.born_at)
        operation = next((one for one in route if good_for_ms(one) and _plain(one.name) == _plain(name)), None)
        if operation is not None:
            _note(a, unit, operation, route[0], span, is_good)


def _plain(name: str) -> str:
    return name.replace("-", " ").casefold()


def _note(
    a: Act, unit: Item, operation: Operation, closes: Operation, span: tuple[datetime, datetime], is_good: bool
) -> None:
    began_at, ended_at = span
    outcome = StepRecord.Outcome.DONE if is_good else StepRecord.Outcome.FAILED
    told = StepRecord.objects.standing().filter(unit=unit, operation=operation)
    before = told.filter(began_at=began_at, ended_at=ended_at).first()  # of the same curve
    if before is not None:
        if before.outcome != outcome:
            a.write(before.next_version(outcome=outcome))
    elif not _is_of_this_closing(unit, closes, began_at) or told.filter(ended_at__gte=began_at).exists():
        return
    else:
        attempt = steps_on_file(unit.pk).attempts.get(operation.pk, 0) + 1
        rows = {"place": None, "began_at": began_at, "ended_at": ended_at, "outcome": outcome}
        a.write(StepRecord(unit=unit, operation=operation, attempt=attempt, **rows))
    wait_for_next(a, unit)


def _is_of_this_closing(unit: Item, closes: Operation, began_at: datetime) -> bool:
    closings = StepRecord.objects.standing().filter(unit=unit, operation__name=closes.name)
    last = closings.order_by("-ended_at", "-pk").first()
    return last is not None and last.ended_at <= began_at
