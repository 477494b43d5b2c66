"""Pots that a machine meters: each component comes from its tank, or from the lot that stands on the machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from plant.catalogue.models import Tank
from plant.catalogue.queries import mix_in_force
from plant.codes import fold
from plant.people.seconding import second_person
from records.ledger.acts import Act, Said, act
from records.ledger.refusals import Refused

from ..deriving import lock_tank
from ..locking import lock_for_use
from ..making import Input, not_below_nought
from ..models import Item
from ..queries import find_item
from ..tanks import tanks_named
from .pots import Weighing, make_pot
from .tanks import code_of_draw, draw_into


def meter_masses(pot: str, *, mix: str, inputs: Sequence[Input], weighing: Weighing | None = None, said: Said) -> Item:
    """A pot that a machine metered, from the masses that it shows: a tank's code stands for what is in it.

    The ratio is judged by those masses; how true they are its own check must show. Refuses as ``mix_pot``, and for a
    tank of another part ``wrong-kind``; at the gate also ``held`` for a tank in which something held may be.
    """
    weighing = weighing or Weighing()
    stated: dict[str, Any] = {"mix": mix, "inputs": [wanted.as_read() for wanted in inputs], **weighing.as_read()}
    with act("pot metered", said, pot=fold(pot), **stated) as a:
        if a.made:
            return Item.objects.get(entry=a.entry, revision__part=mix_in_force(mix, a.at).part)
        if weighing.beside:
            second_person(a)
        return metered(a, pot, mix, inputs, weighing)


def metered(a: Act, pot: str, mix: str, inputs: Sequence[Input], weighing: Weighing) -> Item:
    """A pot from what a machine took of tanks and lots, in an open act. What a tank gave is a lot of its own."""
    tanks = tanks_named(wanted.code for wanted in inputs)
    parts = set(mix_in_force(mix, a.at).components.values_list("part_id", flat=True))
    # One order for every act: tanks, then lots, then numbers that are given.
    for tank in tanks.values():
        if tank.part_id not in parts:
            raise Refused("wrong-kind", "%(code)s is no part of %(mix)s. Scan another lot.", code=tank.code, mix=mix)
        lock_tank(a, tank)
    lots = (find_item(wanted.code) for wanted in inputs if fold(wanted.code) not in tanks)
    lock_for_use([lot for lot in lots if lot is not None])
    taken = [_taken(a, wanted, tanks.get(fold(wanted.code))) for wanted in inputs]
    return make_pot(a, pot, mix, taken, weighing, is_metered=True)


def _taken(a: Act, wanted: Input, tank: Tank | None) -> Input:
    """An input as it goes into the pot: of a tank, what is drawn from it now."""
    if tank is None:
        return wanted
    if wanted.quantity.unit_kind != tank.part.unit_kind:
        raise Refused("wrong-kind", "%(tank)s is measured in %(unit)s.", tank=tank.code, unit=tank.part.unit)
    not_below_nought(wanted.quantity)
    drawn = draw_into(a, tank, code_of_draw(a, tank), wanted.quantity.steps)
    return replace(wanted, code=drawn.code, part="")
