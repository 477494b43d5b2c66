"""Units go to an outside party and come back; none leaves before its route has made it safe."""

from __future__ import annotations

from collections.abc import Sequence

from plant.catalogue.queries import route_of
from plant.codes import fold
from records.items.actions.moving import consign, units_for
from records.items.gates import hold_by_cause, stop_gone, stop_held, stop_used
from records.items.locking import lock_items
from records.items.making import party_named
from records.items.models import Consignment, Item
from records.ledger.acts import Act, Free, Said, act

from ..carrying import stop_passing
from ..queries import done_operations, missing_of


def send_out(units: Sequence[str], *, to: str, said: Said) -> Consignment:
    """Send units to an outside party, to come back: all of them or none.

    Refuses ``unknown``, ``held``, ``not-here``, ``scrapped``, ``already-used``, and ``out-of-order`` for a unit whose
    route still has to make it safe: what is under pressure or in its mould goes to no painter. ``passing-carrier`` for
    one that nothing which outlives paint names.
    """
    with act("sent out", said, units=[fold(code) for code in units], to=Free(to.strip())) as a:
        if a.made:
            return Consignment.objects.get(entry=a.entry)
        things = units_for(units)
        lock_items(things)
        stop_gone(a, things)
        stop_used(a, things)
        stop_held(a, things)
        _stop_unsafe(a, things)
        stop_passing(a, things)
        consignment = consign(a, things, Consignment.Direction.OUT, party_named(a, to))
        hold_by_cause(a, things)
        return consignment


def _stop_unsafe(a: Act, units: Sequence[Item]) -> None:
    done = done_operations([unit.pk for unit in units])
    for unit in units:
        route = route_of(unit.part, unit.born_at)
        last = next((operation for operation in reversed(route) if operation.makes_safe), None)
        due = [operation for operation in route if last is not None and operation.n <= last.n]
        for step in missing_of(done[unit.pk], due):
            a.refuse_or_flag(
                "out-of-order",
                "%(step)s of %(unit)s is not on file. It goes to nobody before that.",
                step=step,
                unit=unit.code,
            )
