"""Items are born, lots go into them, amounts and places follow. Each function takes the open act."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import F

from plant import codes
from plant.catalogue.models import Part
from plant.catalogue.queries import part_by_number, part_revision
from plant.equipment.models import Gauge, Station
from plant.equipment.queries import gauge_by_code, station_by_code
from plant.people.queries import works_day
from plant.quantities import Quantity
from records.ledger.acts import Act
from records.ledger.asking import Changing
from records.ledger.memory import remembered
from records.ledger.refusals import Refused
from records.ledger.statements import insert
from records.ledger.words import keep_words

from .doubting import answer_doubts
from .gates import free_code, use_lot
from .locking import deliveries_of, lock_for_use
from .models import CodeCounter, Item, ItemCode, ItemState, Link, Move, Place, WeighedOn
from .queries import HERE, IN, OUT, SCRAPPED, SHIPPED, find_item, is_booked_in, item_by_code, whereabouts


@dataclass(frozen=True)
class Input:
    """A lot that goes in, as scanned: how much, and what is known of it.

    ``possible_ppb`` is the share where it is in doubt whether the lot went in; ``part`` is read off the label of a
    lot that is not on file; ``scale`` is what it was weighed on.
    """

    code: str
    quantity: Quantity
    possible_ppb: int | None = None
    part: str = ""
    scale: str = ""

    def as_read(self) -> dict[str, Any]:
        scale = {"scale": codes.fold(self.scale)} if self.scale else {}
        return scale | {
            "lot": codes.fold(self.code),
            "steps": self.quantity.steps,
            "unit": self.quantity.unit_kind,
            "possible": self.possible_ppb,
            "part": codes.fold(self.part),
        }


@dataclass(frozen=True)
class Drawn:
    """An input with the lot that it is."""

    lot: Item
    quantity: Quantity
    possible_ppb: int | None = None
    scale: Gauge | None = None


def next_code(a: Act, prefix: str) -> str:
    """Next free code of the house for a prefix, in the works' year of the act."""
    year = works_day(a.at).year
    series = f"{prefix}-{year % 100:02d}"
    locked = CodeCounter.objects.select_for_update().filter(series=series)
    counter = next(iter(locked), None)
    if counter is None:  # made by the first act of the year; of two at once the second waits here
        CodeCounter.objects.get_or_create(series=series)
        counter = locked.get()
    while True:
        counter.number += 1
        code = codes.house_code(prefix, year, counter.number)
        if not ItemCode.objects.filter(code=code).exists():
            counter.entry = a.entry
            counter.save()
            return code


@dataclass(frozen=True)
class Birth:
    """What is told of an item when it comes into being. Without a code the house makes one."""

    code: str
    part: Part
    origin: str = Item.Origin.MADE
    expires_on: date | None = None
    good_until: datetime | None = None
    born_at: datetime | None = None  # none: at the time of the act


def bear(a: Act, birth: Birth, place: Place | None = None, *, amount: int | None = None) -> Item:
    """Bring an item into being, with its code, state and first place. Refuses ``code-taken``."""
    is_told = birth.code.strip() or not birth.part.prefix  # the house makes codes for parts that have a prefix
    code = free_code(birth.code) if is_told else next_code(a, birth.part.prefix)
    item = a.write(
        Item(
            kind=birth.part.tracked,
            revision=part_revision(birth.part, a.at),
            origin=birth.origin,
            born_at=birth.born_at or a.at,
            place_of_birth=place,
            expires_on=birth.expires_on,
            good_until=birth.good_until,
        )
    )
    why = ItemCode.Why.BIRTH if is_told else ItemCode.Why.HOUSE
    a.write(ItemCode(item=item, code=code, why=why, alike=codes.alike(code)))
    is_lot = birth.part.tracked == Part.Tracked.LOT
    item.state = ItemState(
        item=item,
        code=code,
        remaining=(amount or 0) if is_lot else None,
        place=place,
        placed_at=a.at if place is not None else None,
        entry=a.entry,
    )
    insert(item.state)
    if place is not None:
        a.write(Move(item=item, place=place, at=a.at))
    return item


def part_for(number: str, kinds: Sequence[str]) -> Part:
    """Part by number, of one of the kinds. Refuses ``unknown`` and ``wrong-kind``."""
    part = part_by_number(number)
    if part.kind not in kinds:
        raise Refused(
            "wrong-kind",
            "%(part)s is %(kind)s; %(due)s is due here.",
            part=part.number,
            kind=part.kind,
            due=" or ".join(kinds),
        )
    return part


def fits(item: Item, kinds: Sequence[str] = (), part: Part | None = None) -> None:
    """Refuse ``wrong-kind`` for an item that is not of the kind, or the part, that is asked for."""
    found = item.part
    if not (kinds and found.kind not in kinds) and (part is None or found.pk == part.pk):
        return
    prefixes = prefixes_of([part.kind] if part is not None else kinds)
    due = part.number if part is not None else " or ".join(kinds)
    facts = {"kind": found.kind, "code": item.code, "due": due, "prefix": ", ".join(prefixes)}
    if not prefixes or found.prefix in prefixes:
        raise Refused("wrong-kind", "That is %(kind)s %(code)s. Due here: %(due)s. Scan another code.", **facts)
    raise Refused(
        "wrong-kind",
        "That is %(kind)s %(code)s. Due here: %(due)s. Look for a code that starts with %(prefix)s.",
        **facts,
    )


def prefixes_of(kinds: Sequence[str]) -> list[str]:
    """How the codes of such kinds begin, where the house numbers them."""
    numbered = Part.objects.filter(kind__in=kinds).exclude(prefix="").order_by("prefix")
    return list(numbered.values_list("prefix", flat=True).distinct())


def lot_kinds_for(thing: Item) -> Sequence[str]:
    """Kinds of lot that may go into a thing; raw components go into pots only, and nothing is barred from a lot."""
    if thing.kind == Part.Tracked.LOT:
        return ()
    into_preform = (Part.Kind.FIBRE, Part.Kind.BINDER)
    if thing.part.kind == Part.Kind.PREFORM:
        return into_preform
    return (*into_preform, Part.Kind.RESIN_MIX, Part.Kind.ADHESIVE_MIX, Part.Kind.INSERT)


def unit_for(code: str, kinds: Sequence[str] = ()) -> Item:
    """Unit by code. Refuses ``unknown`` and ``wrong-kind``."""
    unit = item_by_code(code)
    fits(unit, kinds or Part.UNIT_KINDS)
    return unit


def lot_for(a: Act, wanted: Input, kinds: Sequence[str] = (), part: Part | None = None) -> Item:
    """Lot that an input names. One not on file is taken when its part is stated, flagged ``not-booked-in``."""
    lot = find_item(wanted.code)
    if lot is None:
        if not wanted.part:
            item_by_code(wanted.code)  # says that there is no such code, and which look like it
        stated = part_by_number(wanted.part)
        lot_kinds = kinds or [kind for kind in Part.Kind.values if kind not in Part.UNIT_KINDS]
        if stated.kind not in lot_kinds or (part is not None and stated.pk != part.pk):
            part_for(wanted.part, [part.kind] if part else lot_kinds)
            raise Refused("wrong-kind", "%(part)s does not belong here.", part=stated.number)
        _measured_as(stated, wanted)
        lot = bear(a, Birth(wanted.code, stated, Item.Origin.STATED))
        a.flag("not-booked-in", item=lot.pk)
        return lot
    if lot.kind != Part.Tracked.LOT:
        raise Refused("wrong-kind", "%(code)s is a unit. A lot is due here.", code=lot.code)
    fits(lot, kinds, part)
    _measured_as(lot.part, wanted)
    return lot


def _measured_as(part: Part, wanted: Input) -> None:
    if wanted.quantity.unit_kind != part.unit_kind:
        raise Refused(
            "wrong-kind", "%(part)s is measured in %(unit)s. Write the amount so.", part=part.number, unit=part.unit
        )
    not_below_nought(wanted.quantity)


def not_below_nought(quantity: Quantity) -> None:
    """Refuse ``not-a-number`` for an amount that can't be."""
    if quantity.steps < 0:
        raise Refused("not-a-number", "An amount can't be below nought. Write it again.")


def drawn_for(
    a: Act,
    inputs: Sequence[Input],
    kinds: Sequence[str] = (),
    part: Part | None = None,
    *,
    into: Iterable[Item] = (),
) -> list[Drawn]:
    """Lots that inputs name, locked with what they go into, each allowed to be used or flagged."""
    return drawn_of_kinds(a, [(wanted, kinds) for wanted in inputs], part, into=into)


def drawn_of_kinds(
    a: Act, inputs: Sequence[tuple[Input, Sequence[str]]], part: Part | None = None, *, into: Iterable[Item] = ()
) -> list[Drawn]:
    """As ``drawn_for``, where each input has kinds of its own."""
    drawn = [
        Drawn(lot_for(a, w, kinds, part), w.quantity, w.possible_ppb, gauge_by_code(w.scale) if w.scale else None)
        for w, kinds in inputs
    ]
    lots = {d.lot.pk: d.lot for d in drawn}
    lock_for_use([*into, *(d.lot for d in drawn)])
    came_in = deliveries_of(lots) if len(lots) > 1 else {}
    taken: dict[int, int] = defaultdict(int)  # of each delivery, its packages with it
    for d in drawn:
        taken[came_in.get(d.lot.pk, d.lot.pk)] += d.quantity.steps
    for lot in lots.values():
        use_lot(a, lot, steps=taken[came_in.get(lot.pk, lot.pk)])
    return drawn


def link_lots(a: Act, child: Item, drawn: Sequence[Drawn], reason: str = "", words: str = "") -> list[Link]:
    """Links from lots to what is made from them; the lots get less, and are flagged where they go below nothing."""
    links = a.write_all(
        Link(
            child=child,
            parent=d.lot,
            at=a.at,
            certainty=Link.Certainty.CONFIRMED if d.possible_ppb is None else Link.Certainty.POSSIBLE,
            share_ppb=d.possible_ppb,
            amount=d.quantity.steps,
            reason=reason,
            words=keep_words(words),
        )
        for d in drawn
    )
    a.write_all(WeighedOn(link=link, scale=d.scale) for link, d in zip(links, drawn, strict=True) if d.scale)
    lots = {d.lot.pk: d.lot for d in drawn}  # one lot may be scanned twice: its amount is counted in one place
    for d in drawn:
        change_amount(a, lots[d.lot.pk], -d.quantity.steps)
    flag_over_drawn(a, lots.values())
    answer_doubts(a, child, lots=lots.values())
    return links


def link_units(a: Act, child: Item, parents: Sequence[Item], reason: str = "", words: str = "") -> list[Link]:
    """Links from units to the unit that they are in from here on."""
    if not parents:
        return []
    links = a.write_all(
        Link(child=child, parent=parent, at=a.at, reason=reason, words=keep_words(words)) for parent in parents
    )
    answer_doubts(a, child, units=parents)
    free = [parent for parent in parents if parent.state.where == HERE]
    ItemState.objects.filter(pk__in=[parent.pk for parent in free]).update(
        where=IN, place=None, inside=child, entry=a.entry
    )
    for parent in free:
        parent.state.where, parent.state.place_id, parent.state.inside_id = IN, None, child.pk
    relocate(a, [parent for parent in parents if parent not in free])
    return links


def change_amount(a: Act, lot: Item, steps: int) -> None:
    """A lot gets more or less; units have no amount."""
    if lot.kind == Part.Tracked.LOT:
        _AMOUNT.change(lot=lot.pk, steps=steps, entry=a.entry.pk)
        lot.state.remaining = (lot.state.remaining or 0) + steps


_AMOUNT = Changing(
    lambda lot, steps, entry: (
        ItemState.objects.filter(pk=lot),
        {"remaining": F("remaining") + steps, "entry": entry},
    )
)


def flag_over_drawn(a: Act, lots: Iterable[Item]) -> None:
    """Flag lots that are below nothing. One known only by its use has no amount to fall below."""
    for lot in {lot.pk: lot for lot in lots}.values():
        if (lot.state.remaining or 0) < 0 and is_booked_in(lot):
            a.flag("over-drawn", item=lot.pk)


def place_of_station(a: Act, station: Station) -> Place:
    """The place that a station is; written down the first time something comes there."""
    place: Place | None = remembered((Place, station), lambda: Place.objects.filter(station=station).first())
    return place or a.write(Place(kind=Place.Kind.STATION, station=station, code=station.code))


def place_named(a: Act, station: str) -> Place | None:
    """The place of a station by its code; none where none is told. Refuses ``unknown``."""
    return place_of_station(a, station_by_code(station)) if station.strip() else None


def party_named(a: Act, name: str) -> Place:
    """The place of an outside party by its name. Refuses ``unknown`` for an empty one."""
    name = name.strip()
    if not name:
        raise Refused("unknown", "Say to whom it goes.")
    place = Place.objects.filter(kind=Place.Kind.OUTSIDE, party__text=name).first()
    return place or a.write(Place(kind=Place.Kind.OUTSIDE, party=keep_words(name)))


def come_to(a: Act, items: Sequence[Item], place: Place | None) -> None:
    """Items come to a place, at the time of the act."""
    if place is None or not items:
        return
    a.write_all(Move(item=item, place=place, at=a.at) for item in items)
    # Nothing that happened later is on file, as a rule: then the place is this one and nothing need be looked up.
    plain = [item for item in items if _is_plainly_here(item.state, a.at)]
    if plain:
        _PLACE.change(items=[item.pk for item in plain], place=place.pk, at=a.at, entry=a.entry.pk)
    for item in plain:
        item.state.place_id, item.state.placed_at = place.pk, a.at
    relocate(a, [item for item in items if item not in plain])


_PLACE = Changing(
    lambda items, place, at, entry: (
        ItemState.objects.filter(pk__among=items),
        {"place": place, "placed_at": at, "entry": entry},
    )
)


def _is_plainly_here(state: ItemState, at: datetime) -> bool:
    return state.where == HERE and (state.placed_at is None or at >= state.placed_at)


def relocate(a: Act, items: Iterable[Item]) -> None:
    """Work out afresh where items are, after something happened to them. Their state rows are locked."""
    wanted = {item.pk: item for item in items}
    if not wanted:
        return
    for number, where in whereabouts(wanted).items():
        state = wanted[number].state
        state.where, state.place_id, state.inside_id = where.state, where.place, where.inside
        state.placed_at = where.placed_at
        state.has_left = state.has_left or where.state in (OUT, SHIPPED, SCRAPPED)
        ItemState.objects.filter(pk=number).update(
            where=where.state,
            place_id=where.place,
            inside_id=where.inside,
            placed_at=where.placed_at,
            has_left=state.has_left,
            entry=a.entry,
        )
