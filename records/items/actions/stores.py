"""Stores: lots are received, accepted, rejected, released at risk, split, put together, scrapped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import TypedDict

from plant.catalogue.models import Part
from plant.catalogue.queries import part_by_number
from plant.codes import fold
from plant.quantities import Quantity
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..gates import flag_loop, hold_by_cause, last_day_of
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
    lock_items,
    lot_for,
    not_below_nought,
    place_named,
    relocate,
)
from ..models import CertificateValue, Item, Loss, LotDecision, Receipt
from ..queries import find_item, is_booked_in, item_by_code


@dataclass(frozen=True)
class Delivery:
    """What came with a lot: whose it is, how much, how long it is good, and the values of its certificate."""

    part: str
    quantity: Quantity
    supplier: str
    supplier_lot: str = ""
    expires_on: date | None = None
    station: str = ""
    certificate: Sequence[tuple[str, str, str]] = ()  # name, value as written, unit


def receive_lot(lot: str, delivery: Delivery, *, said: Said) -> Item:
    """Book a delivery in, into quarantine. A lot known only by its use is filled in.

    Refuses ``code-taken``, ``unknown`` and ``wrong-kind`` for the part, ``not-a-number`` for no amount.
    """
    stated = asdict(delivery) | {"quantity": delivery.quantity.steps, "part": fold(delivery.part)}
    with act("lot received", said, lot=fold(lot), **stated) as a:
        if a.made:
            return Receipt.objects.get(entry=a.entry).item
        part = part_by_number(delivery.part)
        item = _receiving(a, lot, part, delivery)
        receipt = a.write(
            Receipt(
                item=item,
                supplier=delivery.supplier.strip(),
                supplier_lot=delivery.supplier_lot.strip(),
                amount=delivery.quantity.steps,
                written=delivery.quantity.written,
                expires_on=delivery.expires_on,
                at=a.at,
            )
        )
        a.write_all(
            CertificateValue(receipt=receipt, name=name, written=value, unit=unit)
            for name, value, unit in delivery.certificate
        )
        change_amount(a, item, delivery.quantity.steps)
        flag_over_drawn(a, [item])
        return item


def _receiving(a: Act, code: str, part: Part, delivery: Delivery) -> Item:
    if part.tracked != Part.Tracked.LOT or delivery.quantity.unit_kind != part.unit_kind:
        raise Refused(
            "wrong-kind",
            "%(part)s is received in %(unit)s, not as %(written)s.",
            part=part.number,
            unit=part.unit or "no amount",
            written=delivery.quantity.written or "that",
        )
    if delivery.quantity.steps <= 0:
        raise Refused("not-a-number", "Write how much came: more than nought.")
    item = find_item(code)
    if item is None:
        return bear(a, Birth(code, part, Item.Origin.RECEIVED), place_named(a, delivery.station))
    if is_booked_in(item):
        raise Refused("code-taken", "%(code)s is taken: no number is used twice. Take another one.", code=fold(code))
    fits(item, part=part)
    lock_items([item])
    return item


def _decide(kind: str, lot: str, decision: str, words: str, said: Said, **limits: object) -> LotDecision:
    with act(kind, said, lot=fold(lot), words=Free(words), **limits) as a:
        if a.made:
            return LotDecision.objects.get(entry=a.entry)
        item = item_by_code(lot)
        if item.kind != Part.Tracked.LOT:
            raise Refused("wrong-kind", "%(code)s is a unit. Lots are accepted; units are released.", code=item.code)
        if not is_booked_in(item):
            raise Refused("unknown", "%(code)s is not booked in yet. Receive it first.", code=item.code)
        if item.origin == Item.Origin.MADE and decision != LotDecision.Decision.ACCEPT:
            raise Refused("wrong-kind", "%(code)s was made here. Hold it, or scrap it.", code=item.code)
        lock_items([item])
        return a.write(LotDecision(item=item, decision=decision, at=a.at, reason=keep_words(words), **limits))


def accept_lot(lot: str, *, words: str = "", said: Said) -> LotDecision:
    """Accept a received lot: it may be used from then on. Refuses ``unknown`` and ``wrong-kind``."""
    return _decide("lot accepted", lot, LotDecision.Decision.ACCEPT, words, said)


def reject_lot(lot: str, *, words: str, said: Said) -> LotDecision:
    """Reject a received lot: it may not be used. Refuses ``unknown``, ``wrong-kind`` and ``no-reason``."""
    if not words.strip():
        raise Refused("no-reason", "Write why this lot is rejected. The auditor will read it.")
    return _decide("lot rejected", lot, LotDecision.Decision.REJECT, words, said)


def release_at_risk(
    lot: str, *, words: str, limit: Quantity | None = None, until: datetime | None = None, said: Said
) -> LotDecision:
    """Let a lot be used before its certificate is there, within a limit; what holds it can't be released till accepted.

    Refuses ``unknown``, ``wrong-kind`` and ``no-reason``.
    """
    if not words.strip():
        raise Refused("no-reason", "Write why this lot is used before it is accepted.")
    limit_amount = limit.steps if limit else None
    risk = LotDecision.Decision.RISK
    return _decide("lot released at risk", lot, risk, words, said, limit_amount=limit_amount, limit_until=until)


def split_lot(lot: str, into: Sequence[Input], *, said: Said) -> list[Item]:
    """Split amounts off a lot, each a lot of its own with the same expiry.

    Refuses as any use of a lot, and ``code-taken``.
    """
    with act("lot split", said, lot=fold(lot), into=[wanted.as_read() for wanted in into]) as a:
        if a.made:
            return list(Item.objects.filter(entry=a.entry).order_by("pk"))
        if not into:
            raise Refused("unknown", "Say into what the lot is split.")
        whole = Quantity(sum(wanted.quantity.steps for wanted in into), into[0].quantity.unit_kind)
        if any(wanted.quantity.unit_kind != whole.unit_kind for wanted in into):
            raise Refused("wrong-kind", "Write all amounts in the same measure.")
        source = drawn_for(a, [Input(lot, whole)])[0].lot
        end = _end_of([source])
        items = []
        for wanted in into:
            item = bear(a, Birth(wanted.code, source.part, **end))
            link_lots(a, item, [Drawn(source, wanted.quantity)], reason="split")
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
            return item_by_code(into)
        if not inputs:
            raise Refused("unknown", "Say what is put together.")
        if fold(into) in {fold(wanted.code) for wanted in inputs}:
            raise Refused("itself", "A lot can't be made from itself. Scan the other one.")
        first = lot_for(a, inputs[0])
        target = find_item(into)
        drawn = drawn_for(a, inputs, part=first.part)
        if target is None:
            target = bear(a, Birth(into, first.part, **_end_of([d.lot for d in drawn])))
        else:
            fits(target, part=first.part)
            if target.pk in {d.lot.pk for d in drawn}:
                raise Refused("itself", "A lot can't be made from itself. Scan the other one.")
            lock_items([target])
            for d in drawn:
                flag_loop(a, target, d.lot)
        link_lots(a, target, drawn, reason="merge")
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
        is_lot = thing.kind == Part.Tracked.LOT
        lock_items([thing])
        if is_lot:
            quantity = quantity or Quantity(max(thing.state.remaining or 0, 0), thing.part.unit_kind)
            if quantity.unit_kind != thing.part.unit_kind:
                raise Refused(
                    "wrong-kind", "%(part)s is measured in %(unit)s.", part=thing.part.number, unit=thing.part.unit
                )
            not_below_nought(quantity)
        elif quantity is not None:
            raise Refused("wrong-kind", "%(code)s is a unit: it is scrapped whole.", code=thing.code)
        elif thing.losses.standing().exists():
            raise Refused("scrapped", "%(code)s is scrapped already.", code=thing.code)
        amount = quantity.steps if quantity else None
        written = quantity.written if quantity else ""
        loss = a.write(Loss(item=thing, amount=amount, written=written, reason=keep_words(words), at=a.at))
        if amount is not None:
            change_amount(a, thing, -amount)
            flag_over_drawn(a, [thing])
        relocate(a, [thing])
        return loss
