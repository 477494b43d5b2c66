"""Moving: items come to places, units come back. What lets them go stands above: it asks their route."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from plant.codes import fold
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..gates import stop_gone
from ..locking import lock_items
from ..making import come_to, next_code, place_named, relocate, unit_for
from ..models import Consignment, ConsignmentLine, CustomerReturn, Item, Move, Place
from ..queries import OUT, SHIPPED, item_by_code, whereabouts


def move_item(item: str, *, station: str, said: Said) -> Move:
    """An item comes to a station or shelf. Refuses ``unknown`` and ``not-here``."""
    with act("item moved", said, item=fold(item), station=station.strip()) as a:
        if a.made:
            return Move.objects.get(entry=a.entry)
        thing = item_by_code(item)
        place = place_named(a, station)
        if place is None:
            raise Refused("unknown", "Say where it goes.")
        lock_items([thing])
        stop_gone(a, [thing])
        come_to(a, [thing], place)
        return Move.objects.get(entry=a.entry)


def units_for(codes: Sequence[str]) -> list[Item]:
    """Units by their codes, each once. Refuses ``unknown`` for none at all."""
    if not codes:
        raise Refused("unknown", "Scan at least one unit.")
    things = {thing.pk: thing for thing in map(unit_for, codes)}
    return list(things.values())


def consign(
    a: Act, things: Sequence[Item], direction: str, place: Place, back_of: Consignment | None = None
) -> Consignment:
    """Write a consignment with its lines; the units are where it takes them."""
    prefix = "SH" if direction == Consignment.Direction.SHIP else "CN"
    consignment = a.write(
        Consignment(code=next_code(a, prefix), direction=direction, place=place, at=a.at, back_of=back_of)
    )
    a.write_all(ConsignmentLine(consignment=consignment, item=thing) for thing in things)
    for thing in things:
        thing.state.has_left = True
    relocate(a, things)
    return consignment


def bring_back(units: Sequence[str], *, station: str, said: Said) -> Consignment:
    """Units come back from outside, to a station: all of them or none.

    Refuses ``unknown`` and ``not-out`` for what was neither sent out nor shipped.
    """
    with act("come back", said, units=[fold(code) for code in units], station=station.strip()) as a:
        if a.made:
            return Consignment.objects.get(entry=a.entry)
        things = units_for(units)
        place = place_named(a, station)
        if place is None:
            raise Refused("unknown", "Say to which station they come back.")
        lock_items(things)
        _must_be_out(things, a.at)
        latest = ConsignmentLine.objects.standing().filter(item=things[0], consignment__at__lte=a.at)
        left = latest.order_by("-consignment__at", "-pk").first()
        return consign(a, things, Consignment.Direction.BACK, place, back_of=left.consignment if left else None)


def _must_be_out(things: Sequence[Item], at: datetime) -> None:
    where = whereabouts([thing.pk for thing in things], until=at)
    for thing in things:
        if where[thing.pk].state not in (OUT, SHIPPED):
            raise Refused("not-out", "%(code)s was not out. Scan what came back.", code=thing.code)


def return_frame(unit: str, *, station: str, words: str, said: Said) -> CustomerReturn:
    """A frame comes back from a customer, with what they say of it. Refuses ``unknown`` and ``not-out``."""
    with act("frame returned", said, unit=fold(unit), station=station.strip(), words=Free(words)) as a:
        if a.made:
            return CustomerReturn.objects.get(entry=a.entry)
        frame = unit_for(unit)
        place = place_named(a, station)
        if place is None:
            raise Refused("unknown", "Say to which station it comes back.")
        lock_items([frame])
        gone = ConsignmentLine.objects.standing().filter(
            item=frame, consignment__direction=Consignment.Direction.SHIP, customer_return=None
        )
        line = gone.order_by("-pk").first()
        if line is None or whereabouts([frame.pk], until=a.at)[frame.pk].state != SHIPPED:
            raise Refused("not-out", "%(code)s was not shipped.", code=frame.code)
        consign(a, [frame], Consignment.Direction.BACK, place, back_of=line.consignment)
        return a.write(CustomerReturn(item=frame, line=line, reason=keep_words(words)))
