"""What a shift lead decides: something is put aside, or goes back along its route. Neither lets it go."""

from __future__ import annotations

from plant.catalogue.queries import route_of
from plant.codes import fold
from records.items.gates import stop_gone, stop_used, write_holds
from records.items.locking import lock_items
from records.items.making import come_to, unit_for
from records.items.models import Hold, Place
from records.items.queries import item_by_code
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..models import StepRecord
from ..recording import wait_for_next
from .working import operation_named

RED_SHELF = "RED-SHELF"
ASIDE = "put-aside"


def put_aside(item: str, *, words: str, said: Said) -> Hold:
    """Put something on the red shelf and hold it there until Review decides. Refuses ``unknown`` and ``no-reason``."""
    with act("put aside", said, item=fold(item), words=Free(words)) as a:
        if a.made:
            return Hold.objects.get(entry=a.entry)
        thing = item_by_code(item)
        if not words.strip():
            raise Refused("no-reason", "Write why %(code)s is put aside.", code=thing.code)
        lock_items([thing])
        stop_gone(a, [thing])
        come_to(a, [thing], _red_shelf(a))
        return write_holds(a, [Hold(item=thing, reason=ASIDE, words=keep_words(words), at=a.at)])[0]


def _red_shelf(a: Act) -> Place:
    found = Place.objects.filter(code=RED_SHELF).first()
    return found or a.write(Place(kind=Place.Kind.SHELF, code=RED_SHELF))


def send_to_rework(unit: str, *, step: str, words: str, said: Said) -> list[StepRecord]:
    """Send a unit back to a step of its route: that one and those after it are done once more. No hold is lifted.

    The records of what was done stay and say that it has ended. Refuses ``wrong-kind`` for a step that is not on the
    route or by which the unit was made, ``nothing-changed`` where nothing from there on is done, ``no-reason``, and at
    the gate as any step.
    """
    with act("sent to rework", said, unit=fold(unit), step=step.strip(), words=Free(words)) as a:
        if a.made:
            return list(StepRecord.objects.filter(entry=a.entry).order_by("pk"))
        item = unit_for(unit)
        route = route_of(item.part, item.born_at)
        operation = operation_named(item, route, step)
        if operation == route[0]:
            raise Refused(
                "wrong-kind",
                "%(code)s was made by %(step)s: that can't be done again.",
                code=item.code,
                step=operation.name,
            )
        if not words.strip():
            raise Refused("no-reason", "Write why %(code)s goes back. The auditor will read it.", code=item.code)
        lock_items([item])
        stop_gone(a, [item])
        stop_used(a, [item])
        again = [one.name for one in route if one.n >= operation.n]
        done = StepRecord.objects.newest().filter(unit=item, operation__name__in=again, status=StepRecord.Status.STANDS)
        records = list(done.order_by("pk"))
        if not records:
            raise Refused(
                "nothing-changed", "%(code)s has not been through %(step)s yet.", code=item.code, step=operation.name
            )
        ended = [a.write(one.next_version(status=StepRecord.Status.ENDED)) for one in records]
        wait_for_next(a, item)
        return ended
