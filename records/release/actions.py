"""What can happen at the door: a unit is released by a person, shipped; a label is printed, a passport opened."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Q

from plant.catalogue.models import Part
from plant.catalogue.queries import route_of
from plant.codes import fold
from plant.scans import read_scan
from records.items.actions.moving import consign, units_for
from records.items.gates import hold_by_cause, stop_gone, stop_held, stop_used
from records.items.locking import lock_items
from records.items.making import party_named
from records.items.models import Consignment, ConsignmentLine, Item, ItemCode
from records.items.queries import item_by_code
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Conflict, Refused
from records.steps.carrying import carry_printed
from records.steps.queries import missing_operations

from .gate import gate_of
from .labels import labelled
from .models import LabelCheck, LabelPrint, Passport, PassportEnd, Release, ReleaseLine
from .tokens import new_token


def standing_release(unit: Item) -> Release | None:
    """Release that lets a unit go: the newest one that no shipment has used."""
    release = Release.objects.filter(unit=unit).order_by("-pk").first()
    shipped = ConsignmentLine.objects.filter(item=unit, consignment__direction=Consignment.Direction.SHIP)
    if release is None or shipped.filter(entry__gt=release.entry_id).exists():
        return None
    return release


def release_units(units: Sequence[str], *, said: Said) -> list[Release]:
    """A named person lets units go: all of them or none.

    Refuses, or flags where it is done, ``held``, ``out-of-order``, ``scrapped``, ``not-here``, ``already-used``;
    ``gate-open`` for a run not judged, a measure missing or outside, a lot not accepted.
    """
    with act("unit released", said, units=[fold(code) for code in units]) as a:
        if a.made:
            return list(Release.objects.filter(entry=a.entry).order_by("pk"))
        items = units_for(units)
        lock_items(items)
        _ask_gates(a, items)
        return [_release(a, item) for item in items]


def _release(a: Act, item: Item) -> Release:
    lines = gate_of(item)
    for line in lines:
        if line.is_open and line.what in ("run", "measure", "lot"):
            a.refuse_or_flag(
                "gate-open",
                "%(unit)s can't be released: %(name)s %(words)s.",
                unit=item.code,
                name=line.name,
                words=line.words,
            )
    release = a.write(Release(unit=item, at=a.at))
    if not Passport.objects.standing().filter(unit=item).exists():
        a.write(Passport(unit=item, token=new_token()))
    a.write_all(ReleaseLine(release=release, what=line.what, name=line.name, verdict=line.verdict) for line in lines)
    return release


def _ask_gates(a: Act, items: Sequence[Item]) -> None:
    stop_gone(a, items)
    stop_used(a, items)
    stop_held(a, items, shipping=True)
    for item in items:
        missing = missing_operations(item, route_of(item.part, item.born_at))
        if missing:
            a.refuse_or_flag(
                "out-of-order",
                "%(unit)s has not been through %(step)s. That comes first.",
                unit=item.code,
                step=missing[0],
            )


def ship(units: Sequence[str], *, to: str, said: Said) -> Consignment:
    """Ship units for good: all of them or none.

    Refuses, or flags where it is done, as ``release_units``, and ``not-released`` without a standing release.
    """
    with act("shipped", said, units=[fold(code) for code in units], to=Free(to.strip())) as a:
        if a.made:
            return Consignment.objects.get(entry=a.entry)
        items = units_for(units)
        lock_items(items)
        _ask_gates(a, items)
        for item in items:
            if standing_release(item) is None:
                a.refuse_or_flag("not-released", "%(unit)s is not released. Review must let it go.", unit=item.code)
        consignment = consign(a, items, Consignment.Direction.SHIP, party_named(a, to))
        hold_by_cause(a, items)
        return consignment


def print_label(code: str, *, reason: str = "", said: Said) -> LabelPrint:
    """Note that a label was printed. Copies are numbered; a reprint says why.

    Refuses ``unknown``, ``no-reason``, and ``overtaken`` where another one was printed at the same moment.
    """
    with act("label printed", said, code=fold(code), reason=reason) as a:
        if a.made:
            return LabelPrint.objects.get(entry=a.entry)
        item_code = ItemCode.objects.filter(code=fold(code)).first()
        thing = "" if item_code else labelled(code).code
        if item_code:
            lock_items([item_code.item])
        copies = LabelPrint.objects.filter(item_code=item_code, thing=thing).count()
        if copies and not reason.strip():
            raise Refused("no-reason", "This label was printed before. Say why it is printed again.")
        row = LabelPrint(item_code=item_code, thing=thing, copy=copies + 1, reason=reason.strip())
        # A thing of the works has no state to lock: two who print it at once may both count the same copies.
        words = "Somebody printed a label of %(code)s at this moment. Print yours once more, and say why."
        return a.write_only(row, Conflict("overtaken", words, code=row.code))


def check_label(symbol: str, *, of: str = "", said: Said) -> LabelCheck:
    """Note that a label was scanned back from the thing that it is stuck on. ``of`` is that thing, where it is known.

    Refuses ``scan`` for what can't be read, ``wrong-label`` for another thing's or an old one, ``unknown`` for a label
    that was never printed here. A unit is known by it from now on, where its route asks for no other carrier.
    """
    with act("label checked", said, symbol=symbol, of=fold(of)) as a:
        if a.made:
            return LabelCheck.objects.get(entry=a.entry)
        scan = read_scan(symbol)
        if scan.copy is None:
            raise Refused("scan", "That is the code without the label's number: scan the symbol on the label itself.")
        if of and fold(of) != scan.code:
            words = "That is the label of %(found)s; it belongs on %(due)s. Take it off, and look at both."
            raise Refused("wrong-label", words, found=scan.code, due=fold(of))
        prints = LabelPrint.objects.filter(Q(item_code__code=scan.code) | Q(thing__iexact=scan.code))
        printed = prints.filter(copy=scan.copy).first()
        if printed is None:
            words = "Label %(copy)s of %(code)s was never printed here. Find out where it came from."
            raise Refused("unknown", words, copy=scan.copy, code=scan.code)
        if prints.filter(copy__gt=scan.copy).exists():
            words = "That is label %(copy)s of %(code)s; a newer one was printed after it. Take the old one off."
            raise Refused("wrong-label", words, copy=scan.copy, code=scan.code)
        unit = printed.item_code.item if printed.item_code else None
        if unit is not None and unit.kind == Part.Tracked.UNIT:
            lock_items([unit])
            carry_printed(a, unit, scan.code, scan.copy, printed.reason)
        return a.write(LabelCheck(printed=printed, at=a.at))


def open_passport(code: str, *, reason: str = "", said: Said) -> Passport:
    """Give a unit its page for whoever has it, before its release or anew; one that stood answers no more from now on.

    Refuses ``unknown``, ``wrong-kind`` for what is no unit, and ``no-reason`` where it takes the place of another.
    """
    with act("passport opened", said, code=fold(code), reason=reason) as a:
        if a.made:
            return Passport.objects.get(entry=a.entry)
        unit = item_by_code(code)
        if unit.kind != Part.Tracked.UNIT:
            raise Refused(
                "wrong-kind", "%(code)s is no unit: only what is shipped by its serial has a passport.", code=unit.code
            )
        lock_items([unit])
        if Passport.objects.filter(unit=unit).exists() and not reason.strip():
            raise Refused("no-reason", "%(code)s had a passport before. Say why it gets another one.", code=unit.code)
        return a.write(Passport(unit=unit, token=new_token(), reason=reason.strip()))


def close_passport(code: str, *, reason: str, said: Said) -> PassportEnd:
    """Close the page of a unit, with nothing in its place. Refuses ``unknown`` where none stands, and ``no-reason``."""
    with act("passport closed", said, code=fold(code), reason=reason) as a:
        if a.made:
            return PassportEnd.objects.get(entry=a.entry)
        unit = item_by_code(code)
        if not reason.strip():
            raise Refused("no-reason", "Say why the passport of %(code)s is closed.", code=unit.code)
        lock_items([unit])
        standing = Passport.objects.standing().filter(unit=unit).first()
        if standing is None:
            raise Refused("unknown", "No passport of %(code)s is open.", code=unit.code)
        return a.write(PassportEnd(passport=standing, reason=reason.strip()))
