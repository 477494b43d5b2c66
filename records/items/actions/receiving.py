"""A delivery is booked in, with its packages and how it came; the values of its certificate may follow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from plant.catalogue.models import Part
from plant.catalogue.queries import part_by_number
from plant.codes import fold
from plant.quantities import Quantity, print_amount
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..locking import lock_items
from ..making import Birth, Drawn, Input, bear, change_amount, fits, flag_over_drawn, link_lots, place_named
from ..models import ArrivalFinding, CertificateValue, Item, Link, Place, Receipt
from ..queries import PACKAGE, find_item, is_booked_in, item_by_code

Values = Sequence[tuple[str, str, str]]  # name, value as written, unit


@dataclass(frozen=True)
class Delivery:
    """What came with a lot: whose it is, how much, how it came, how long it is good, and what its certificate says.

    ``packages`` are those that get a label of their own; ``findings`` what was wrong with it on arrival.
    """

    part: str
    quantity: Quantity
    supplier: str
    supplier_lot: str = ""
    expires_on: date | None = None
    station: str = ""
    certificate: Values = ()
    delivery_note: str = ""
    temperature: Quantity | None = None
    packages: Sequence[Input] = ()
    findings: Sequence[str] = ()
    words: str = ""

    def as_read(self) -> dict[str, Any]:
        """As the entry's arguments. What was not asked before is left out where it is empty, so that an entry that
        was sent before it was asked may be sent again."""
        told = {
            "part": fold(self.part),
            "quantity": self.quantity.steps,
            "supplier": self.supplier,
            "supplier_lot": self.supplier_lot,
            "expires_on": self.expires_on,
            "station": self.station,
            "certificate": list(self.certificate),
        }
        more = {
            "delivery_note": self.delivery_note,
            "temperature": self.temperature.steps if self.temperature else None,
            "packages": [package.as_read() for package in self.packages],
            "findings": list(self.findings),
            "words": Free(self.words),
        }
        return told | {name: value for name, value in more.items() if value}


def receive_lot(lot: str, delivery: Delivery, *, said: Said) -> Item:
    """Book a delivery in, into quarantine. A lot known only by its use is filled in.

    Refuses ``code-taken``, ``unknown`` and ``wrong-kind`` for the part, ``not-a-number`` for no amount, ``too-much``
    for packages that hold more than came.
    """
    with act("lot received", said, lot=fold(lot), **delivery.as_read()) as a:
        if a.made:
            return Receipt.objects.get(entry=a.entry).item
        part = part_by_number(delivery.part)
        place = place_named(a, delivery.station)
        item = _receiving(a, lot, part, delivery, place)
        receipt = a.write(
            Receipt(
                item=item,
                supplier=delivery.supplier.strip(),
                supplier_lot=delivery.supplier_lot.strip(),
                amount=delivery.quantity.steps,
                written=delivery.quantity.written,
                expires_on=delivery.expires_on,
                at=a.at,
                delivery_note=delivery.delivery_note.strip(),
                temperature_mk=delivery.temperature.steps if delivery.temperature else None,
            )
        )
        _write_values(a, receipt, delivery.certificate)
        _write_findings(a, receipt, delivery)
        change_amount(a, item, delivery.quantity.steps)
        flag_over_drawn(a, [item])
        _set_apart(a, item, delivery, place)
        return item


def _receiving(a: Act, code: str, part: Part, delivery: Delivery, place: Place | None) -> Item:
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
        return bear(a, Birth(code, part, Item.Origin.RECEIVED), place)
    lock_items([item])
    if is_booked_in(item):
        raise Refused("code-taken", "%(code)s is taken: no number is used twice. Take another one.", code=fold(code))
    fits(item, part=part)
    return item


def _write_values(a: Act, receipt: Receipt, values: Values) -> list[CertificateValue]:
    return a.write_all(
        CertificateValue(receipt=receipt, name=name, written=value, unit=unit) for name, value, unit in values
    )


def _write_findings(a: Act, receipt: Receipt, delivery: Delivery) -> None:
    wrong = [what for what in delivery.findings if what not in ArrivalFinding.What.values]
    if wrong:
        raise Refused("unknown", "Choose from the list what was wrong on arrival.")
    words = keep_words(delivery.words)
    a.write_all(ArrivalFinding(receipt=receipt, what=what, words=words) for what in dict.fromkeys(delivery.findings))


def _set_apart(a: Act, lot: Item, delivery: Delivery, place: Place | None) -> None:
    """Each package with a label of its own becomes a lot of its own, which goes by what is decided on the delivery."""
    amounts = [package.quantity for package in delivery.packages]
    if any(amount.unit_kind != lot.part.unit_kind or amount.steps <= 0 for amount in amounts):
        raise Refused("not-a-number", "Write how much is in each package, in %(unit)s.", unit=lot.part.unit)
    apart = sum(amount.steps for amount in amounts)
    if apart > delivery.quantity.steps:
        raise _too_much(lot.part, apart, delivery.quantity)
    for package in delivery.packages:
        one = bear(a, Birth(package.code, lot.part, expires_on=delivery.expires_on), place)
        link_lots(a, one, [Drawn(lot, package.quantity)], reason=PACKAGE)
        change_amount(a, one, package.quantity.steps)


def read_certificate(lot: str, values: Values, *, said: Said) -> list[CertificateValue]:
    """Values of a certificate that came after its goods; a value given again puts the one before right.

    Refuses ``unknown`` for what is not booked in, and ``nothing`` for no value.
    """
    with act("certificate read", said, lot=fold(lot), values=list(values)) as a:
        if a.made:
            return list(CertificateValue.objects.filter(entry=a.entry).order_by("pk"))
        if not values:
            raise Refused("nothing", "Write at least one value.")
        item = item_by_code(lot)
        receipt = Receipt.objects.standing().filter(item=item).order_by("-pk").first()
        if receipt is None:
            raise Refused("unknown", "%(code)s is not booked in yet. Receive it first.", code=item.code)
        lock_items([item])
        return _write_values(a, receipt, values)


@dataclass(frozen=True)
class BookedRight:
    """A delivery as it should have been booked in."""

    quantity: Quantity
    supplier: str
    supplier_lot: str = ""
    delivery_note: str = ""
    expires_on: date | None = None

    def as_read(self) -> dict[str, Any]:
        return {
            "quantity": self.quantity.steps,
            "supplier": self.supplier.strip(),
            "supplier_lot": self.supplier_lot.strip(),
            "delivery_note": self.delivery_note.strip(),
            "expires_on": self.expires_on,
        }


def correct_receipt(lot: str, right: BookedRight, *, words: str, said: Said) -> Receipt:
    """Put right what was written of a delivery; both stay readable. What came as a package of it, or was split off it,
    ends with it.

    A later end is seen by another person than booked it in: a longer life by itself needs two. Refuses ``unknown``,
    ``wrong-kind``, ``not-a-number``, ``no-reason``, ``too-much``, ``nothing-changed`` and ``second-person``.
    """
    with act("receipt corrected", said, lot=fold(lot), **right.as_read(), words=Free(words)) as a:
        if a.made:
            return Receipt.objects.get(entry=a.entry)
        item = item_by_code(lot)
        lock_items([item])
        old = Receipt.objects.standing().filter(item=item).select_related("entry__by").order_by("-pk").first()
        if old is None:
            raise Refused("unknown", "%(code)s is not booked in yet. Receive it first.", code=item.code)
        _stop_wrong_booking(item, old, right, words)
        if _ends_later(old.expires_on, right.expires_on) and old.entry.by_id == said.by.pk:
            raise Refused(
                "second-person",
                "This makes %(code)s good for longer, and you booked it in. Another person looks at its label and "
                "puts it right.",
                code=item.code,
            )
        told = right.as_read() | {"amount": right.quantity.steps, "written": right.quantity.written}
        told.pop("quantity")
        newer = a.write(old.next_version(**told, words=keep_words(words)))
        change_amount(a, item, newer.amount - old.amount)
        flag_over_drawn(a, [item])
        return newer


def _stop_wrong_booking(item: Item, old: Receipt, right: BookedRight, words: str) -> None:
    part, told = item.part, right.as_read()
    if right.quantity.unit_kind != part.unit_kind:
        raise Refused("wrong-kind", "%(part)s is measured in %(unit)s.", part=part.number, unit=part.unit)
    if right.quantity.steps <= 0:
        raise Refused("not-a-number", "Write how much came: more than nought.")
    if not words.strip():
        raise Refused("no-reason", "Write what was wrong, and how it was found.")
    packages = Link.objects.standing().filter(parent=item, reason=PACKAGE)
    apart = sum(package.amount or 0 for package in packages)
    if apart > right.quantity.steps:
        raise _too_much(item.part, apart, right.quantity)
    if told == {"quantity": old.amount} | {name: getattr(old, name) for name in told if name != "quantity"}:
        raise Refused("nothing-changed", "Nothing of this delivery is changed by that. Write what is right.")


def _ends_later(was: date | None, becomes: date | None) -> bool:
    """Whether a lot would be good for longer; without a day it is good for ever."""
    return was is not None and (becomes is None or becomes > was)


def _too_much(part: Part, apart: int, came: Quantity) -> Refused:
    return Refused(
        "too-much",
        "The packages hold %(apart)s, and %(came)s came. Write their amounts again.",
        apart=print_amount(apart, part.unit, part.unit_kind),
        came=print_amount(came.steps, part.unit, part.unit_kind),
    )
