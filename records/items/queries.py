"""Reads of items: by code, where they are, how much is left, what holds them; each as known at a mark."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, NamedTuple

from django.db.models import BigIntegerField, Q, QuerySet, Sum, Value
from django.db.models.functions import Cast, Coalesce

from plant import codes
from plant.catalogue.models import Part, PartRevision
from plant.equipment.models import Station
from records.ledger.asking import Asking, Slot, columns, instances
from records.ledger.marks import Mark
from records.ledger.models import PrivateWords
from records.ledger.refusals import Refused

from .models import (
    Consignment,
    ConsignmentLine,
    Hold,
    HoldLift,
    Item,
    ItemCode,
    ItemState,
    Link,
    Loss,
    Move,
    Place,
    Receipt,
    TankEntry,
)

PACKAGE, SPLIT, MERGE = "package", "split", "merge"  # what links say of a lot that was cut off another, or joined
MOST_OF_THEIRS = 3  # lots named for a supplier's number: more help nobody
HERE, IN, OUT, SHIPPED, SCRAPPED = "here", "in", "out", "shipped", "scrapped"


def find_item(code: str, mark: Mark | None = None) -> Item | None:
    """Item that has or had a code."""
    row = next(iter(_BY_CODE.rows(mark, code=codes.fold(code))), None)
    if row is None:
        return None
    item, revision, part, state = instances(row, _WITH_ITEM)
    item.revision, revision.part, item.state = revision, part, state
    return item


_WITH_ITEM = {
    "item__": Item,
    "item__revision__": PartRevision,
    "item__revision__part__": Part,
    "item__state__": ItemState,
}
_BY_CODE = Asking(
    lambda mark, code: ItemCode.objects.known(mark).filter(code=code).values_list(*columns(_WITH_ITEM))[:1]
)


def item_by_code(code: str, mark: Mark | None = None) -> Item:
    """Item that has or had a code. Refuses ``unknown`` and names what may have been meant, or came by that number."""
    item = find_item(code, mark)
    if item is not None:
        return item
    if mark is not None and find_item(code) is not None:
        raise Refused("unknown", "%(code)s was not on file yet at that time.", code=codes.fold(code))
    near, facts = near_to(code, mark), {"code": codes.fold(code)}
    if theirs := lots_of_theirs(code, mark):
        words = "%(code)s is the supplier’s number of %(lots)s. Scan the label that the house put on it."
        raise Refused("unknown", words, **facts, lots=", ".join(theirs))
    if not near:
        raise Refused("unknown", "No such code here: %(code)s. Look again, or type it.", **facts)
    words = "No such code here: %(code)s. Look again, or type it. Did you mean %(near)s?"
    raise Refused("unknown", words, **facts, near=near[0])


def lots_of_theirs(number: str, mark: Mark | None = None) -> list[str]:
    """Lots that came under a supplier's number, and packages of theirs: those with something left before the others.

    Such a number is not unique, so that it is never taken for a lot's own.
    """
    if not number.strip():
        return []
    came = Receipt.objects.standing(mark).filter(supplier_lot__iexact=number.strip()).values("item")
    apart = Link.objects.standing(mark).filter(parent__in=came, reason=PACKAGE).values("child")
    states = ItemState.objects.filter(Q(item__in=came) | Q(item__in=apart)).order_by("item")
    found = sorted(states, key=lambda state: (state.remaining or 0) <= 0)
    return [state.code for state in found[:MOST_OF_THEIRS]] + ["…"] * (len(found) > MOST_OF_THEIRS)


def look_alikes(code: str, mark: Mark | None = None) -> list[str]:
    """Other codes, old ones too, that are the same once signs that are mistaken for each other are made one."""
    rows = ItemCode.objects.known(mark).filter(alike=codes.alike(code)).exclude(code=codes.fold(code))
    return sorted(rows.values_list("code", flat=True))


def near_to(code: str, mark: Mark | None = None) -> list[str]:
    """Codes on file that may have been meant: the same number with its right check digit, and look-alikes."""
    right = codes.with_right_check(code)
    repaired = [right] if right and find_item(right, mark) is not None else []
    return list(dict.fromkeys([*repaired, *look_alikes(code, mark)]))


class Names(NamedTuple):
    """The newest code of an item, and the numbers it had before."""

    code: str
    once: tuple[str, ...] = ()


def names_of(items: Iterable[int], mark: Mark | None = None) -> dict[int, Names]:
    """Codes of items as known, one query."""
    found: dict[int, Names] = {}
    for item, code in _CODES.rows(mark, items=set(items)):
        before = found.get(item)
        found[item] = Names(code, (*before.once, before.code) if before else ())
    return found


_CODES = Asking(
    lambda mark, items: (
        ItemCode.objects.known(mark)
        .filter(item_id__among=items)
        .order_by("entry_id", "pk")
        .values_list("item_id", "code")
    )
)


class Whereabouts(NamedTuple):
    """Where an item is: ``place`` is a Place number, ``inside`` the unit that it is in."""

    state: str = HERE
    place: int | None = None
    inside: int | None = None
    placed_at: datetime | None = None
    never_made: bool = False


def whereabouts(
    items: Iterable[int],
    mark: Mark | None = None,
    until: datetime | None = None,
    units: Iterable[int] | None = None,
) -> dict[int, Whereabouts]:
    """Where items are by the latest that happened to them, as known at a mark, up to a moment.

    ``units`` are those among them that are units, by one who knows: else they are looked up.
    Scrapped comes first, then being in another unit; else the latest move or consignment.
    """
    wanted = set(items)
    inside = _units_around(_units(wanted) if units is None else units, mark) if until is None else {}
    scrapped: dict[int, bool] = {}
    latest: dict[int, tuple[datetime, int, str, int]] = {}
    for item, at, entry, place, what in _HAPPENED.rows(mark, items=wanted, until=until):
        if what in _LOST:
            scrapped[item] = what == Loss.Kind.NEVER
        else:
            one = (at, entry, _AFTER.get(what, HERE), place)
            latest[item] = max(latest.get(item, one), one)
    found = {}
    for item in wanted:
        last = latest.get(item)
        came = last[0] if last else None
        if item in scrapped:
            found[item] = Whereabouts(SCRAPPED, placed_at=came, never_made=scrapped[item])
        elif item in inside:
            found[item] = Whereabouts(IN, inside=inside[item], placed_at=came)
        else:
            found[item] = Whereabouts(last[2], last[3], placed_at=came) if last else Whereabouts()
    return found


_LOST = (Loss.Kind.SCRAP.value, Loss.Kind.NEVER.value)  # what is lost whole; what is sent back has an amount
_AFTER: dict[str, str] = {Consignment.Direction.OUT.value: OUT, Consignment.Direction.SHIP.value: SHIPPED}


def _happened(mark: Mark | None, items: Slot, until: Slot | None) -> QuerySet:
    """Item, moment, entry, place and what it was, of moves, consignments and of units that were scrapped."""

    def told(rows: QuerySet, at: str, place: Any, what: Any) -> QuerySet:
        rows = (
            rows.filter(item_id__among=items)
            if until is None
            else rows.filter(item_id__among=items, **{f"{at}__lte": until})
        )
        return rows.order_by().values_list("item_id", at, "entry_id", place, what)

    nowhere = Cast(Value(None), BigIntegerField())
    lines = told(
        ConsignmentLine.objects.standing(mark), "consignment__at", "consignment__place_id", "consignment__direction"
    )
    lost = told(Loss.objects.standing(mark).filter(amount=None), "at", nowhere, "kind")
    return told(Move.objects.known(mark), "at", "place_id", Value(HERE)).union(lines, lost, all=True)


_HAPPENED = Asking(_happened)


def places_named(places: Iterable[int]) -> dict[int, str]:
    """Places in words."""
    wanted = set(places)
    named = {}
    for row in _PLACES.rows(places=wanted) if wanted else ():
        place, station, party = instances(row, _WITH_PLACE)
        place.station, place.party = station if place.station_id else None, party if place.party_id else None
        named[place.pk] = str(place)
    return named


_WITH_PLACE = {"": Place, "station__": Station, "party__": PrivateWords}
_PLACES = Asking(lambda _, places: Place.objects.filter(pk__among=places).values_list(*columns(_WITH_PLACE)))


def _units(items: Iterable[int]) -> list[int]:
    """The units among items."""
    return [unit for (unit,) in _UNITS.rows(items=items)]


def _units_around(units: Iterable[int], mark: Mark | None = None) -> dict[int, int]:
    """The unit that each unit is in at present. Ask of no lot: one may be used in all that was ever made."""
    units = list(units)
    if not units:
        return {}
    # The newest of a line is picked here: both engines take a wrong way through so many links where they are asked to.
    newest: dict[int, tuple[int, int, int, int, int]] = {}
    for number, first, version, status, unit, around in _USES.rows(mark, items=units):
        line = first or number
        newest[line] = max(newest.get(line, (0,) * 5), (version, number, status, unit, around))
    stands = sorted(row[1:] for row in newest.values() if row[2] == Link.Status.STANDS)
    return {unit: around for _, _, unit, around in stands}


_UNITS = Asking(lambda _, items: Item.objects.filter(pk__among=items, kind=Part.Tracked.UNIT).values_list("pk"))
_USES = Asking(
    lambda mark, items: (
        Link.objects.known(mark)
        .filter(parent_id__among=items, child__kind=Part.Tracked.UNIT)
        .values_list("pk", "first_id", "version", "status", "parent_id", "child_id")
    )
)


def still_out(consignment: Consignment) -> list[str]:
    """Codes of the units of a consignment that have not come back since."""
    lines = ConsignmentLine.objects.standing()
    sent = list(lines.filter(consignment=consignment).values_list("item_id", flat=True))
    back = lines.filter(
        item_id__in=sent, consignment__direction=Consignment.Direction.BACK, consignment__at__gte=consignment.at
    )
    missing = set(sent) - set(back.values_list("item_id", flat=True))
    return sorted(names.code for names in names_of(missing).values())


@dataclass(frozen=True)
class Balance:
    """What came into a lot, was drawn from it, written off and sent back. [steps]"""

    received: int = 0
    drawn: int = 0
    waste: int = 0
    back: int = 0

    @property
    def left(self) -> int:
        return self.received - self.drawn - self.waste - self.back


def balances(items: Iterable[int], mark: Mark | None = None) -> dict[int, Balance]:
    """Balances of lots. Drawn are all links not withdrawn, ended ones too, and all charges into tanks."""
    wanted = set(items)
    came: dict[int, int] = defaultdict(int)
    drawn: dict[int, int] = defaultdict(int)
    waste: dict[int, int] = defaultdict(int)
    back: dict[int, int] = defaultdict(int)
    links = Link.objects.standing(mark)
    charges = TankEntry.objects.standing(mark).filter(item_id__among=wanted)
    # What a link drew from a tank stands in the tank's log. Where most links have no draw, a condition on it would
    # lead SQLite to read them all by that index: so it is said of the sum.
    undrawn = Q(draw=None)
    sums = (
        (came, Receipt.objects.standing(mark).filter(item_id__among=wanted), "item_id", None),
        (came, links.filter(child_id__among=wanted), "child_id", undrawn),
        (came, charges.filter(kind=TankEntry.Kind.DRAW), "item_id", None),
        (drawn, links.filter(parent_id__among=wanted), "parent_id", undrawn),
        (drawn, charges.filter(kind=TankEntry.Kind.CHARGE), "item_id", None),
    )
    for total, rows, column, which in sums:
        for item, amount in rows.order_by().values_list(column).annotate(total=Sum("amount", filter=which)):
            total[item] += int(amount or 0)
    losses = Loss.objects.standing(mark).filter(item_id__among=wanted).order_by().values_list("item_id", "kind")
    for item, kind, amount in losses.annotate(total=Sum("amount")):
        (back if kind == Loss.Kind.BACK else waste)[item] += int(amount or 0)
    return {item: Balance(came[item], drawn[item], waste[item], back[item]) for item in wanted}


def held_at(moments: Mapping[int, datetime]) -> dict[int, int]:
    """How much each lot held at its moment, by what is on file now; the same sums as of ``balances``. [steps]"""
    charges, links = TankEntry.objects.standing().filter(item_id__in=moments), Link.objects.standing().filter(draw=None)
    links = links.annotate(drawn_at=Coalesce("first__at", "at"))  # its newest version may tell when it was taken out
    lines = (
        (1, Receipt.objects.standing().filter(item_id__in=moments), "item_id", "at"),
        (1, links.filter(child_id__in=moments), "child_id", "drawn_at"),
        (1, charges.filter(kind=TankEntry.Kind.DRAW), "item_id", "at"),
        (-1, links.filter(parent_id__in=moments), "parent_id", "drawn_at"),
        (-1, charges.filter(kind=TankEntry.Kind.CHARGE), "item_id", "at"),
        (-1, Loss.objects.standing().filter(item_id__in=moments), "item_id", "at"),
    )
    held = dict.fromkeys(moments, 0)
    for sign, rows, column, when in lines:
        for item, at, amount in rows.values_list(column, when, "amount"):
            held[item] += sign * (amount or 0) if at <= moments[item] else 0
    return held


def holds_on(items: Iterable[int], mark: Mark | None = None, at: datetime | None = None) -> list[Hold]:
    """Holds that bind: known and not lifted; with ``at``, those that bound at that moment."""
    wanted = set(items)
    holds = Hold.objects.known(mark).filter(item_id__among=wanted).select_related("operation")
    lifts = HoldLift.objects.known(mark)
    if at is not None:
        holds, lifts = holds.filter(at__lte=at), lifts.filter(at__lte=at)
    return list(holds.exclude(pk__in=lifts.filter(hold__item_id__among=wanted).values("hold_id")).order_by("pk"))


def held_among(items: Iterable[int], mark: Mark | None = None) -> set[int]:
    """Which of the items any hold binds."""
    return {item for (item,) in _HELD.rows(mark, items=set(items))}


_HELD = Asking(
    lambda mark, items: (
        Hold.objects.known(mark)
        .filter(item_id__among=items)
        .exclude(pk__in=HoldLift.objects.known(mark).filter(hold__item_id__among=items).values("hold_id"))
        .values_list("item_id")
    )
)


def is_booked_in(item: Item, mark: Mark | None = None) -> bool:
    """Whether an item was made here, or is covered by a receipt."""
    return item.origin == Item.Origin.MADE or bool(_BOOKED_IN.rows(mark, item=item.pk))


_BOOKED_IN = Asking(lambda mark, item: Receipt.objects.standing(mark).filter(item_id=item).values_list("pk")[:1])


def came_before(part: Part, supplier: str, supplier_lot: str) -> Receipt | None:
    """The last delivery of a supplier's lot that is booked in; capitals and outer blanks don't count."""
    rows = Receipt.objects.standing().filter(item__revision__part=part, supplier__iexact=supplier.strip())
    rows = rows.filter(supplier_lot__iexact=supplier_lot.strip()).select_related("item__state")
    return rows.order_by("-at", "-pk").first()


def deliveries_called(text: str) -> list[Receipt]:
    """Deliveries with that number on the supplier's label or on the delivery note, the last first; capitals and outer
    blanks don't count, leading noughts do."""
    rows = Receipt.objects.standing().filter(
        Q(supplier_lot__iexact=text.strip()) | Q(delivery_note__iexact=text.strip())
    )
    return (
        list(rows.select_related("item__state", "item__revision__part").order_by("-at", "-pk")) if text.strip() else []
    )


@dataclass(frozen=True)
class Standing:
    """What an item is like at present, for a page or an answer."""

    item: Item
    names: Names
    where: Whereabouts
    holds: list[Hold] = field(default_factory=list)


def standing_of(item: Item, mark: Mark | None = None) -> Standing:
    """Names, place and holds of one item."""
    names = names_of([item.pk], mark)[item.pk]
    return Standing(item, names, whereabouts([item.pk], mark)[item.pk], holds_on([item.pk], mark))
