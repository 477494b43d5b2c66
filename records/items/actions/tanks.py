"""Tanks, bins and heads: charged, drawn from, cleaned; a lot mounted between two known moments."""

from __future__ import annotations

from datetime import datetime

from plant.catalogue.models import Part, Tank
from plant.catalogue.queries import tank_by_code
from plant.codes import fold
from plant.equipment.queries import station_by_code
from plant.quantities import Quantity
from records.ledger.acts import Act, Said, act
from records.ledger.refusals import Refused

from ..deriving import lock_tank, rederive_draws, rederive_feeds
from ..falling_away import children_off, mark_alone, taken_off
from ..gates import Noting, hold_by_cause, mark_barred, use_lot
from ..locking import lock_items
from ..making import Birth, Input, bear, change_amount, drawn_for, flag_over_drawn, lot_for, not_below_nought, unit_for
from ..models import FeedEntry, FeedUse, Item, Link, TankEntry
from ..tanks import look_in, stop_filled, stop_tank


def charge_tank(tank: str, *, lot: Input, said: Said) -> TankEntry:
    """Charge a tank or bin with an amount of a lot; draws after it are worked out afresh.

    Refuses as any use of a lot, and ``wrong-kind`` for a part that the tank does not take.
    """
    with act("tank charged", said, tank=fold(tank), lot=lot.as_read()) as a:
        if a.made:
            return TankEntry.objects.get(entry=a.entry)
        vessel = tank_by_code(tank)
        lock_tank(a, vessel)
        drawn = drawn_for(a, [lot], part=vessel.part)[0]
        line = _write(a, vessel, TankEntry.Kind.CHARGE, drawn.lot, drawn.quantity.steps)
        change_amount(a, drawn.lot, -drawn.quantity.steps)
        flag_over_drawn(a, [drawn.lot])
        hold_by_cause(a, [drawn.lot])
        rederive_draws(a, vessel, [line.at])
        return line


def _write(a: Act, tank: Tank, kind: int, item: Item | None = None, amount: int = 0) -> TankEntry:
    return a.write(TankEntry(tank=tank, kind=kind, item=item, amount=amount, at=a.at))


def draw_tank(tank: str, *, into: str, quantity: Quantity, all_the_same: bool = False, said: Said) -> Item:
    """Draw an amount from a tank or bin into a lot of its own, made straight from every lot that can be in it.

    Drawing more than it holds is taken and flagged ``over-drawn``, and ``tank-held`` where something held may be in
    it: a hold is on one thing, and its page asks before. Where the page asked and it was drawn ``all_the_same``, it is
    flagged ``tank-barred`` too, for what stands in it past its end or not accepted. Refuses ``unknown``,
    ``code-taken``, ``wrong-kind``.
    """
    with act("tank drawn", said, tank=fold(tank), into=fold(into), steps=quantity.steps) as a:
        if a.made:
            return Item.objects.get(entry=a.entry)
        vessel = tank_by_code(tank)
        if quantity.unit_kind != vessel.part.unit_kind:
            raise Refused("wrong-kind", "%(tank)s is measured in %(unit)s.", tank=vessel.code, unit=vessel.part.unit)
        not_below_nought(quantity)
        lock_tank(a, vessel)
        look_in(noting := Noting(a.at), vessel)
        item = drawn_at(a, vessel, into, quantity.steps, a.at)
        if "held" in noting.causes:
            a.flag("tank-held", tank=vessel.code)
        if all_the_same and noting.causes - {"held"}:
            a.flag("tank-barred", tank=vessel.code)
        hold_by_cause(a, [item])
        return item


def draw_into(a: Act, vessel: Tank, into: str, steps: int) -> Item:
    """A lot of its own drawn from a tank that is locked, in an open act. Refuses or flags ``held`` for what may be in
    it; more than it holds is flagged.
    """
    stop_tank(a, vessel)
    return drawn_at(a, vessel, into, steps, a.at)


def drawn_at(a: Act, vessel: Tank, into: str, steps: int, at: datetime) -> Item:
    """A lot of its own that was drawn from a tank that is locked, at a moment: whether it might be is not asked."""
    item = bear(a, Birth(into, vessel.part, born_at=at), amount=steps)
    line = a.write(TankEntry(tank=vessel, kind=TankEntry.Kind.DRAW, item=item, amount=steps, at=at))
    worked = rederive_draws(a, vessel, [line.at])
    if any(draw.short and draw.line.number == line.pk for draw in worked.draws):
        a.flag("over-drawn", tank=vessel.pk)
    return item


def code_of_draw(a: Act, tank: Tank) -> str:
    """Code of what a machine takes of a tank: of the house, or where it makes none the tank's with the entry."""
    return "" if tank.part.prefix else f"{tank.code}/{a.entry.pk}"


def clean_tank(tank: str, *, all_the_same: bool = False, said: Said) -> TankEntry:
    """Clean a tank or bin out. Only this cuts the chain from the lots before. Refuses ``unknown``.

    Told to be clean ``all_the_same`` with something in it by its log, it is flagged ``not-empty``: pages ask before.
    Told late, by one alone, it is marked ``told-alone`` where draws since then hold a barred lot no more.
    """
    with act("tank cleaned", said, tank=fold(tank)) as a:
        if a.made:
            return TankEntry.objects.get(entry=a.entry)
        vessel = tank_by_code(tank)
        lock_tank(a, vessel)
        stop_filled(noting := Noting(a.at), vessel)
        if all_the_same and noting.causes:
            a.flag("not-empty", tank=vessel.code)
        line = _write(a, vessel, TankEntry.Kind.CLEAN)
        rederive_draws(a, vessel, [line.at])
        mark_alone(a, taken_off(a))
        return line


def mount_lot(station: str, *, head: str, lot: str, not_before: datetime, not_after: datetime, said: Said) -> FeedEntry:
    """A lot was mounted at a head at an unknown moment between two known ones; what was wound there follows.

    Marked as a correction is, where what was wound there holds a barred lot no more and nobody signs beside. Refuses as
    any use of a lot, and ``window-upside-down``.
    """
    stated = {"head": head, "lot": fold(lot), "not_before": not_before, "not_after": not_after}
    with act("lot mounted", said, station=station.strip(), **stated) as a:
        if a.made:
            return FeedEntry.objects.get(entry=a.entry)
        if not_before > not_after:
            raise Refused("window-upside-down", "The earliest moment lies after the latest. Write them again.")
        place = station_by_code(station)
        item = lot_for(a, Input(lot, Quantity(0, "mass")))
        use_lot(a, item)
        entry = a.write(FeedEntry(station=place, head=head, item=item, not_before=not_before, not_after=not_after))
        rederive_feeds(a, place, head)
        mark_alone(a, taken_off(a), children_off(a))
        return entry


def tell_wound(unit: str, *, station: str, head: str, began_at: datetime, ended_at: datetime, said: Said) -> FeedUse:
    """Tell that a preform was wound at a station's head over a span: what was mounted there then is in it.

    What is barred of that is marked, since it is in it. Refuses ``wrong-kind``, ``window-upside-down``, and
    ``already`` for a span that is told.
    """
    stated = {"station": station.strip(), "head": head, "began_at": began_at, "ended_at": ended_at}
    with act("use told late", said, unit=fold(unit), **stated) as a:
        if a.made:
            return FeedUse.objects.get(entry=a.entry)
        if began_at >= ended_at:
            raise Refused("window-upside-down", "The winding ended before it began. Write the times again.")
        preform, place = unit_for(unit, [Part.Kind.PREFORM]), station_by_code(station)
        lock_items([preform])
        told = FeedUse.objects.standing().filter(unit=preform, station=place, head=head)
        if told.filter(began_at__lt=ended_at, ended_at__gt=began_at).exists():
            raise Refused("already", "%(unit)s is told as wound there at that time already.", unit=preform.code)
        use = a.write(FeedUse(station=place, head=head, unit=preform, began_at=began_at, ended_at=ended_at))
        rederive_feeds(a, place, head)
        for link in [row for row in a.rows if isinstance(row, Link)]:
            mark_barred(a, link.parent, began_at, [preform])
        return use


def withdraw_feed(a: Act, line: FeedEntry | FeedUse) -> FeedEntry | FeedUse:
    """Take back that a lot was mounted, or that something was wound, in an open act."""
    withdrawn: FeedEntry | FeedUse = a.write(line.next_version(status=line.Status.WITHDRAWN))
    rederive_feeds(a, line.station, line.head)
    return withdrawn
