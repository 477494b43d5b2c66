"""Corrections of what goes into what: a wrong scan, an entry taken back, a use that was forgotten."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from plant.catalogue.models import Part, Tank
from plant.codes import fold
from plant.quantities import Quantity
from records.ledger.acts import Act, Free, Said, act
from records.ledger.models import Entry
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..deriving import lock_tank, rederive_draws
from ..doubting import answer_doubts
from ..falling_away import children_off, is_mis_tap, mark_alone, taken_off, with_all_in
from ..gates import Noting, flag_loop, hold_by_cause, mark_barred, mark_noted, stop_used
from ..locking import lock_items
from ..making import (
    Input,
    change_amount,
    drawn_for,
    fits,
    flag_over_drawn,
    link_lots,
    lot_for,
    lot_kinds_for,
    relocate,
    unit_for,
)
from ..models import FeedEntry, FeedUse, Item, LifeEntry, Link, TankEntry, WeighedOn
from ..queries import item_by_code
from ..tanks import stop_tank, tanks_named
from .tanks import code_of_draw, drawn_at, withdraw_feed


@dataclass(frozen=True)
class Correction:
    """What was scanned, and what it should have been; ``part`` is read off the label of a lot not on file."""

    was: str
    right: str
    part: str = ""


def entry_of(key: UUID) -> Entry:
    """Entry that a correction names. Refuses ``unknown``."""
    entry = Entry.objects.filter(key=key).first()
    if entry is None:
        raise Refused("unknown", "No entry stands under this key. Look it up again.")
    return entry


def standing_links(entry: Entry, was: str) -> list[Link]:
    """Links that an entry made to or from an item and that still stand. Refuses ``unknown``."""
    item = item_by_code(was)
    opened = Link.objects.filter(entry=entry, first=None, draw=None, feed=None).values("pk")
    newest = Link.objects.newest().filter(status=Link.Status.STANDS)
    made = newest.filter(pk__in=opened) | newest.filter(first__in=opened)
    return list(made.filter(parent=item).order_by("pk")) or list(made.filter(child=item).order_by("pk"))


def standing_line(entry: Entry, was: str = "") -> TankEntry | None:
    """Line of a tank's log that an entry wrote, or corrected, and that still stands."""
    lines = [row.line for row in TankEntry.objects.filter(entry=entry)]
    newest = TankEntry.objects.newest().filter(status=TankEntry.Status.STANDS)
    if was:  # an entry that metered a pot drew from several tanks
        newest = newest.filter(item=item_by_code(was))
    return (newest.filter(pk__in=lines) | newest.filter(first__in=lines)).order_by("pk").first()


def correct_link(of: UUID, correction: Correction, *, words: str, said: Said) -> list[Link] | TankEntry:
    """The wrong lot or unit was scanned: the old link is withdrawn, another stands in its place.

    The right one of a pot may be a tank: what is in the pot was drawn from that, at the time when it was mixed.

    Quantity, time and share stay. A hold or the expiry of the right lot stops nothing, since it has been used: it is
    marked, and what holds it is held as a use of it would be. What one alone takes off a lot that is held, rejected or
    released at risk is marked ``told-alone``. Refuses ``unknown`` where the entry or the link no longer stands,
    ``wrong-kind``, ``itself``, ``already-used``.
    """
    stated = {"was": fold(correction.was), "right": fold(correction.right), "part": fold(correction.part)}
    with act("link corrected", said, of=of, **stated, words=Free(words)) as a:
        if a.made:
            links = list(Link.objects.filter(entry=a.entry, first=None, draw=None))
            return links or TankEntry.objects.get(entry=a.entry)
        entry = entry_of(of)
        line = standing_line(entry, correction.was)
        if line is not None and line.kind == TankEntry.Kind.CHARGE:
            return _correct_charge(a, line, correction)
        links = standing_links(entry, correction.was)
        if not links:
            raise Refused("unknown", "This entry made no link to %(was)s that still stands.", was=fold(correction.was))
        tank = tanks_named([correction.right]).get(fold(correction.right))
        drawn_from = {vessel.pk: vessel for vessel in (tank, line.tank if line is not None else None) if vessel}
        for _, vessel in sorted(drawn_from.items()):  # one order for every act
            lock_tank(a, vessel)
        if tank is not None and line is not None and line.tank_id == tank.pk:
            raise Refused("nothing-changed", "It is drawn from %(tank)s by the records too.", tank=tank.code)
        right = [_correct(a, link, correction, words, tank) for link in links]
        if line is not None:
            withdraw_line(a, line)  # what a machine was told to have taken of a tank is in it still
        return right


def _correct(a: Act, link: Link, correction: Correction, words: str, tank: Tank | None) -> Link:
    parent = _right_parent(a, link, correction) if tank is None else _of_tank(a, link, tank)
    if parent.pk == link.child_id:
        raise Refused("itself", "A thing can't be made from itself. Scan the right one.")
    old = link.parent
    lock_items([old, parent, link.child])
    mark_alone(a, with_all_in(old) - with_all_in(parent), [link.child])
    a.write(link.next_version(status=Link.Status.WITHDRAWN, reason="wrong scan", words=keep_words(words)))
    flag_loop(a, link.child, parent)
    right = a.write(
        Link(
            child=link.child,
            parent=parent,
            at=link.at,
            certainty=link.certainty,
            share_ppb=link.share_ppb,
            amount=link.amount,
            reason="corrected",
            words=keep_words(words),
        )
    )
    if parent.kind == Part.Tracked.LOT:
        answer_doubts(a, link.child, lots=[parent])
        mark_barred(a, parent, link.at, [link.child])
    if tank is not None:
        stop_tank(noting := Noting(link.at), tank)
        mark_noted(a, parent, noting, [link.child])
    weighed = WeighedOn.objects.filter(link=link.line).first()
    if weighed is not None:
        a.write(WeighedOn(link=right, scale_id=weighed.scale_id))
    change_amount(a, old, link.amount or 0)
    change_amount(a, parent, -(link.amount or 0))
    flag_over_drawn(a, [parent])
    relocate(a, [item for item in (old, parent) if item.kind == Part.Tracked.UNIT])
    return right


def _right_parent(a: Act, link: Link, correction: Correction) -> Item:
    """The item that should have been scanned, of the same part for a lot in a lot, else of the same kind."""
    old = link.parent
    if old.kind == Part.Tracked.UNIT:
        unit = unit_for(correction.right)
        fits(unit, [old.part.kind])
        stop_used(a, [unit])
        return unit
    into_lot = link.child.kind == Part.Tracked.LOT
    wanted = Input(correction.right, Quantity(link.amount or 0, old.part.unit_kind), part=correction.part)
    return lot_for(a, wanted, [old.part.kind], old.part if into_lot else None)


def _of_tank(a: Act, link: Link, tank: Tank) -> Item:
    """What was drawn for a pot from another tank, as a lot of its own. The tank is locked."""
    if link.child.part.kind not in Part.POT_KINDS:
        raise Refused("wrong-kind", "%(tank)s is a tank. Only a pot is metered from it: scan the lot.", tank=tank.code)
    if tank.part_id != link.parent.part.pk:
        words = "%(tank)s holds %(part)s. Due here: %(due)s. Scan another code."
        raise Refused("wrong-kind", words, tank=tank.code, part=tank.part.number, due=link.parent.part.number)
    return drawn_at(a, tank, code_of_draw(a, tank), link.amount or 0, link.at)


def _correct_charge(a: Act, line: TankEntry, correction: Correction) -> TankEntry:
    tank = line.tank
    lock_tank(a, tank)
    wanted = Input(correction.right, Quantity(line.amount, tank.part.unit_kind), part=correction.part)
    lot = lot_for(a, wanted, part=tank.part)
    old = line.item
    assert old is not None  # a charge names its lot: tank_entry_has_an_item_unless_cleaned
    lock_items([old, lot])
    mark_alone(a, with_all_in(old) - with_all_in(lot))
    newer = a.write(line.next_version(item=lot))
    mark_barred(a, lot, line.at, [lot])
    change_amount(a, old, line.amount)
    change_amount(a, lot, -line.amount)
    flag_over_drawn(a, [lot])
    rederive_draws(a, tank, [line.at], [line.line])
    return newer


Line = TankEntry | LifeEntry | FeedEntry | FeedUse


def withdraw(of: UUID, *, was: str = "", words: str, said: Said) -> Sequence[Link] | Line:
    """Take back links to or from ``was`` that an entry made, its line in a tank's log, in a lot's keeping, or of what
    was mounted or wound at a head.

    A pot or merged lot loses that quantity again. Marked as ``correct_link`` is, but for a mis-tap of one's own.
    Refuses ``unknown`` where nothing of it stands.
    """
    with act("entry withdrawn", said, of=of, was=fold(was), words=Free(words)) as a:
        if a.made:
            rows = [row for model in _LINES if (row := model.objects.filter(entry=a.entry).first()) is not None]
            return rows[0] if rows else list(Link.objects.filter(entry=a.entry))
        entry = entry_of(of)
        line = standing_line(entry, was)
        links = standing_links(entry, was) if was else []
        gone = set() if is_mis_tap(a, entry) else _falling_away(line, links)
        if line is not None:
            lock_tank(a, line.tank)
            for link in links:  # what was drawn for a pot is not in it either
                _withdraw(a, link, words)
            mark_alone(a, gone, [link.child for link in links])
            return withdraw_line(a, line)
        fed = _standing_feed(entry)
        if fed is not None:
            back = withdraw_feed(a, fed)
            if not is_mis_tap(a, entry):
                mark_alone(a, taken_off(a), children_off(a))
            return back
        kept = LifeEntry.objects.newest().filter(entry=entry, status=LifeEntry.Status.STANDS).first()
        if kept is not None:
            return _withdraw_keeping(a, kept)
        if not links:
            raise Refused("unknown", "Nothing of this entry stands any more, or it made no link to what you name.")
        withdrawn = [_withdraw(a, link, words) for link in links]
        mark_alone(a, gone, [link.child for link in links])
        return withdrawn


_LINES: tuple[Any, ...] = (TankEntry, LifeEntry, FeedEntry, FeedUse)


def _standing_feed(entry: Entry) -> FeedEntry | FeedUse | None:
    """What an entry told as mounted or wound at a head and still stands; a winding that made a unit ends with that."""
    if entry.kind == "lot mounted":
        return FeedEntry.objects.standing().filter(entry=entry).select_related("station").first()
    late = entry.kind == "use told late"
    return FeedUse.objects.standing().filter(entry=entry).select_related("station").first() if late else None


def _falling_away(line: TankEntry | None, links: Sequence[Link]) -> set[int]:
    """Everything that a thing or a tank would hold no more without a line and links."""
    gone = {number for link in links for number in with_all_in(link.parent)}
    if line is not None and line.item is not None:
        gone |= with_all_in(line.item) - ({line.item.pk} if line.kind == TankEntry.Kind.DRAW else set())
    return gone


def _withdraw_keeping(a: Act, line: LifeEntry) -> LifeEntry:
    lock_items([line.item])
    return a.write(line.next_version(status=LifeEntry.Status.WITHDRAWN))


def _withdraw(a: Act, link: Link, words: str) -> Link:
    parent, child = link.parent, link.child
    lock_items([parent, child])
    withdrawn = a.write(link.next_version(status=Link.Status.WITHDRAWN, reason="withdrawn", words=keep_words(words)))
    change_amount(a, parent, link.amount or 0)
    change_amount(a, child, -(link.amount or 0))
    if child.kind == Part.Tracked.LOT:
        flag_over_drawn(a, [child])
    if parent.kind == Part.Tracked.UNIT:
        relocate(a, [parent])
    return withdrawn


def withdraw_line(a: Act, line: TankEntry) -> TankEntry:
    """Take back a line of a tank's log, in an open act."""
    tank = line.tank
    lock_tank(a, tank)
    if line.item is not None:
        lock_items([line.item])
        back = line.amount if line.kind == TankEntry.Kind.CHARGE else -line.amount
        change_amount(a, line.item, back)
    withdrawn = a.write(line.next_version(status=TankEntry.Status.WITHDRAWN))
    rederive_draws(a, tank, [line.at], [line.line])
    return withdrawn


def tell_use_late(item: str, *, lot: Input, words: str, said: Said) -> Link:
    """Tell of an input that was forgotten; the time of the act is when it was used.

    Refuses as any use of a lot at that time, ``wrong-kind`` for what can't go into a unit, and ``itself``.
    """
    with act("use told late", said, item=fold(item), lot=lot.as_read(), words=Free(words)) as a:
        if a.made:
            return Link.objects.get(entry=a.entry)
        thing = item_by_code(item)
        drawn = drawn_for(a, [lot], lot_kinds_for(thing), into=[thing])
        if drawn[0].lot.pk == thing.pk:
            raise Refused("itself", "A thing can't be made from itself. Scan the right one.")
        flag_loop(a, thing, drawn[0].lot)
        link = link_lots(a, thing, drawn, reason="told late")[0]
        if thing.kind == Part.Tracked.LOT:
            change_amount(a, thing, lot.quantity.steps)
        hold_by_cause(a, [thing])
        return link
