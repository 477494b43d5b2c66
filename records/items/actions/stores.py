"""Stores: lots are split, put together, written off, sent back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import TypedDict

from plant.catalogue.models import Part
from plant.codes import fold
from plant.quantities import Quantity, print_amount
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..balancing import left_of
from ..gates import flag_loop, hold_by_cause
from ..keeping import last_day_of
from ..locking import lock_items
from ..making import (
    Birth,
    Drawn,
    Input,
    bear,
    change_amount,
    drawn_for,
    fits,
    flag_over_drawn,
    link_lots,
    lot_for,
    not_below_nought,
    relocate,
)
from ..models import Item, Link, Loss
from ..queries import MERGE, SPLIT, find_item, item_by_code


def split_lot(lot: str, into: Sequence[Input], *, said: Said) -> list[Item]:
    """Split amounts off a lot, each a lot of its own with the same expiry.

    Refuses as any use of a lot, ``code-taken``, and ``not-a-number`` for a piece below nought.
    """
    with act("lot split", said, lot=fold(lot), into=[wanted.as_read() for wanted in into]) as a:
        if a.made:
            return list(Item.objects.filter(entry=a.entry).order_by("pk"))
        if not into:
            raise Refused("unknown", "Say into what the lot is split.")
        whole = Quantity(sum(wanted.quantity.steps for wanted in into), into[0].quantity.unit_kind)
        if any(wanted.quantity.unit_kind != whole.unit_kind for wanted in into):
            raise Refused("wrong-kind", "Write all amounts in the same measure.")
        for wanted in into:
            not_below_nought(wanted.quantity)
        source = drawn_for(a, [Input(lot, whole)])[0].lot
        end = _end_of([source])
        items = []
        for wanted in into:
            item = bear(a, Birth(wanted.code, source.part, **end))
            link_lots(a, item, [Drawn(source, wanted.quantity)], reason=SPLIT)
            change_amount(a, item, wanted.quantity.steps)
            items.append(item)
        hold_by_cause(a, items)
        return items


class End(TypedDict):
    """How long a lot made from others is good: its last day, and the end of a pot's life."""

    expires_on: date | None
    good_until: datetime | None


def _end_of(lots: Sequence[Item]) -> End:
    """The earliest end among lots: what is split off a pot or put together from pots lives no longer than they do."""
    days = [day for lot in lots if (day := last_day_of(lot)) is not None]
    lives = [lot.good_until for lot in lots if lot.good_until is not None]
    return End(expires_on=min(days, default=None), good_until=min(lives, default=None))


def merge_lots(into: str, inputs: Sequence[Input], *, said: Said) -> Item:
    """Put amounts of lots of one part together, in a lot that may exist already.

    Refuses as any use of a lot, ``wrong-kind`` for different parts and ``itself``. A loop made so is taken, flagged.
    """
    with act("lots merged", said, into=fold(into), inputs=[wanted.as_read() for wanted in inputs]) as a:
        if a.made:
            return Link.objects.filter(entry=a.entry)[0].child
        if not inputs:
            raise Refused("unknown", "Say what is put together.")
        if fold(into) in {fold(wanted.code) for wanted in inputs}:
            raise Refused("itself", "A lot can't be made from itself. Scan the other one.")
        first = lot_for(a, inputs[0])
        target = find_item(into)
        drawn = drawn_for(a, inputs, part=first.part, into=[] if target is None else [target])
        if target is None:
            target = bear(a, Birth(into, first.part, **_end_of([d.lot for d in drawn])))
        else:
            fits(target, part=first.part)
            if target.pk in {d.lot.pk for d in drawn}:
                raise Refused("itself", "A lot can't be made from itself. Scan the other one.")
            for d in drawn:
                flag_loop(a, target, d.lot)
        link_lots(a, target, drawn, reason=MERGE)
        change_amount(a, target, sum(d.quantity.steps for d in drawn))
        hold_by_cause(a, [target])
        return target


def scrap(item: str, *, words: str, quantity: Quantity | None = None, said: Said) -> Loss:
    """Scrap a unit, or write an amount of a lot off. Never stopped by a hold.

    Refuses ``unknown``, ``scrapped``, and ``wrong-kind`` for an amount in another measure or of a unit.
    """
    steps = quantity.steps if quantity else None
    with act("item scrapped", said, item=fold(item), steps=steps, words=Free(words)) as a:
        if a.made:
            return Loss.objects.get(entry=a.entry)
        thing = item_by_code(item)
        lock_items([thing])
        if thing.kind == Part.Tracked.LOT:
            return _lose(a, thing, quantity, Loss.Kind.SCRAP, words)
        if quantity is not None:
            raise Refused("wrong-kind", "%(code)s is a unit: it is scrapped whole.", code=thing.code)
        if thing.losses.standing().exists():
            raise Refused("scrapped", "%(code)s is scrapped already.", code=thing.code)
        loss = a.write(Loss(item=thing, reason=keep_words(words), at=a.at))
        relocate(a, [thing])
        return loss


def send_back(lot: str, *, words: str, quantity: Quantity | None = None, said: Said) -> Loss:
    """Send a lot, or an amount of it, back to its supplier. Never stopped by a hold, nor by a rejection.

    Refuses ``unknown``, ``wrong-kind`` for what was not received here or an amount in another measure, ``no-reason``.
    """
    steps = quantity.steps if quantity else None
    with act("lot sent back", said, lot=fold(lot), steps=steps, words=Free(words)) as a:
        if a.made:
            return Loss.objects.get(entry=a.entry)
        item = item_by_code(lot)
        if item.kind != Part.Tracked.LOT or item.good_until is not None:
            raise Refused("wrong-kind", "%(code)s came from no supplier.", code=item.code)
        if not words.strip():
            raise Refused("no-reason", "Write why it goes back, and with which papers.")
        lock_items([item])
        return _lose(a, item, quantity, Loss.Kind.BACK, words)


def _lose(a: Act, lot: Item, quantity: Quantity | None, kind: str, words: str) -> Loss:
    """A lot, or an amount of it, is no longer here to be used; without an amount it is all that is left."""
    quantity = quantity or Quantity(max(left_of(lot), 0), lot.part.unit_kind)
    if quantity.unit_kind != lot.part.unit_kind:
        raise Refused("wrong-kind", "%(part)s is measured in %(unit)s.", part=lot.part.number, unit=lot.part.unit)
    not_below_nought(quantity)
    written = quantity.written or print_amount(quantity.steps, lot.part.unit, lot.part.unit_kind)
    loss = Loss(item=lot, kind=kind, amount=quantity.steps, written=written, reason=keep_words(words), at=a.at)
    a.write(loss)
    change_amount(a, lot, -quantity.steps)
    flag_over_drawn(a, [lot])
    relocate(a, [lot])
    return loss
