"""Rework: something is taken out of a unit, something is put in; a coupon is cut from it."""

from __future__ import annotations

from plant.catalogue.models import Part
from plant.catalogue.queries import part_by_number
from plant.codes import fold
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..falling_away import mark_alone, with_all_in
from ..gates import flag_loop, hold_by_cause, stop_gone, stop_held, stop_used
from ..locking import lock_items
from ..making import (
    Birth,
    Input,
    bear,
    come_to,
    drawn_for,
    fits,
    link_lots,
    link_units,
    lot_kinds_for,
    place_named,
    relocate,
    unit_for,
)
from ..models import Item, Link
from ..queries import item_by_code

# What kinds of unit go into which.
FITS_INTO: dict[str, tuple[str, ...]] = {
    Part.Kind.FRAME: (Part.Kind.FRONT, Part.Kind.REAR),
    Part.Kind.FRONT: (Part.Kind.PREFORM, Part.Kind.BLADDER),
    Part.Kind.REAR: (Part.Kind.PREFORM, Part.Kind.BLADDER),
}


def take_out(unit: str, *, item: str, words: str, station: str = "", said: Said) -> Link:
    """Take something out of a unit: its link ends and stays readable; a unit taken out is free again, at the station.

    Material is not given back. An amount of a lot that is held, rejected or released at risk is marked
    ``told-alone`` where nobody signs beside. Refuses ``unknown`` and ``not-in-it``.
    """
    stated = {"item": fold(item), "words": Free(words), "station": station.strip()}
    with act("unit taken out", said, unit=fold(unit), **stated) as a:
        if a.made:
            return Link.objects.filter(entry=a.entry).latest("pk")
        whole, part = unit_for(unit), item_by_code(item)
        lock_items([whole, part])
        if part.kind == Part.Tracked.LOT:
            mark_alone(a, with_all_in(part), [whole])
        standing = Link.objects.newest().filter(child=whole, parent=part, status=Link.Status.STANDS)
        ended = [
            a.write(link.next_version(status=Link.Status.ENDED, at=a.at, reason="rework", words=keep_words(words)))
            for link in standing
        ]
        if not ended:
            raise Refused("not-in-it", "%(part)s is not in %(unit)s. Scan it again.", part=part.code, unit=whole.code)
        place = place_named(a, station)
        come_to(a, [part], place)
        relocate(a, [part])
        return ended[-1]


def put_in(
    unit: str, *, item: str = "", lot: Input | None = None, words: str = "", station: str = "", said: Said
) -> Link:
    """Put a unit, or an amount of a lot, into a unit in rework, at a station. A hold on the unit does not stop it.

    Refuses as any use, ``already-used``, ``itself`` and ``wrong-kind``.
    """
    stated = {"item": fold(item), "lot": lot.as_read() if lot else None, "station": fold(station)}
    stated |= {"words": Free(words)} if words else {}
    with act("unit put in", said, unit=fold(unit), **stated) as a:
        if a.made:
            return Link.objects.filter(entry=a.entry).latest("pk")
        whole = unit_for(unit)
        link = _put_unit(a, whole, item, words) if lot is None else _put_lot(a, whole, lot, words)
        come_to(a, [whole], place_named(a, station))
        hold_by_cause(a, [whole])
        return link


def _put_lot(a: Act, whole: Item, lot: Input, words: str) -> Link:
    drawn = drawn_for(a, [lot], lot_kinds_for(whole), into=[whole])
    stop_gone(a, [whole])
    return link_lots(a, whole, drawn, reason="rework", words=words)[0]


def _put_unit(a: Act, whole: Item, item: str, words: str) -> Link:
    part = unit_for(item)
    if part.pk == whole.pk:
        raise Refused("itself", "A unit can't be put into itself. Scan the other one.")
    fits(part, FITS_INTO.get(whole.part.kind, ()) or ("no unit",))
    lock_items([whole, part])
    stop_gone(a, [whole, part])
    stop_used(a, [part])
    stop_held(a, [part])
    flag_loop(a, whole, part)
    return link_units(a, whole, [part], reason="rework", words=words)[0]


def cut_coupon(coupon: str, *, unit: str, part: str, station: str = "", said: Said) -> Item:
    """Cut a coupon, or cut a unit up: an item of its own, made from the unit.

    Refuses ``unknown``, ``code-taken`` and ``wrong-kind``.
    """
    with act("coupon cut", said, coupon=fold(coupon), unit=fold(unit), part=fold(part), station=station.strip()) as a:
        if a.made:
            return Item.objects.get(entry=a.entry)
        whole = unit_for(unit)
        lock_items([whole])
        kind = part_by_number(part)
        if kind.kind != Part.Kind.COUPON:
            raise Refused("wrong-kind", "%(part)s is no coupon. Choose one from the list.", part=kind.number)
        item = bear(a, Birth(coupon, kind), place_named(a, station), amount=1)
        a.write(Link(child=item, parent=whole, at=a.at, amount=1, reason="cut"))
        return item
