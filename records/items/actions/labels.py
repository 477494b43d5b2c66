"""Numbers and labels: a unit gets a new number; two labels that were swapped are put right."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Q

from plant import codes
from plant.catalogue.models import Part
from plant.equipment.models import Station
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from ..deriving import rederive_feeds
from ..doubting import LOST, move_doubt, tablets_of
from ..gates import flag_loop, free_code, write_holds
from ..locking import lock_items
from ..making import relocate, unit_for
from ..models import FeedUse, Hold, HoldLift, Item, ItemCode, ItemState, LabelSwap, Link, Move, SwapConfirm

SWAP = "labels-swapped"


def renumber(unit: str, *, to: str, words: str, said: Said) -> Item:
    """Give an item a new number. Every old number still finds it. Refuses ``unknown`` and ``code-taken``."""
    with act("renumbered", said, unit=codes.fold(unit), to=codes.fold(to), words=Free(words)) as a:
        if a.made:
            return ItemCode.objects.get(entry=a.entry).item
        item = unit_for(unit)
        code = free_code(to)
        lock_items([item])
        a.write(ItemCode(item=item, code=code, why=ItemCode.Why.RENUMBERED, alike=codes.alike(code)))
        ItemState.objects.filter(pk=item.pk).update(code=code, entry=a.entry)
        item.state.code = code
        return item


def write_swap(a: Act, one: str, other: str, since: datetime, words: str) -> LabelSwap:
    """Two units carried each other's label since a moment: their links move over, places follow, both are held.

    In an open act: the room that sees steps and readings too (``records.quality``) moves those beside it. Refuses
    ``unknown``, ``itself`` and ``wrong-kind`` for units of different parts.
    """
    first, second = unit_for(one), unit_for(other)
    if first.pk == second.pk:
        raise Refused("itself", "These are two numbers of one unit. Scan the other unit.")
    if first.part.pk != second.part.pk:
        raise Refused("wrong-kind", "%(one)s and %(other)s are different parts.", one=first.code, other=second.code)
    lock_items(_moving(first, second, _links_since(first, second, since)).values())
    swap = a.write(LabelSwap(one=first, other=second, since=since, words=keep_words(words)))
    opposite = {first.pk: second, second.pk: first}
    links = _links_since(first, second, since)  # as they stay, now that the units are locked
    inside = _moving(first, second, links)
    lock_items(inside.values())
    doubts = tablets_of(links)
    for link in links:
        a.write(link.next_version(status=Link.Status.WITHDRAWN, reason=SWAP))
        moved = _moved(link, opposite)
        if link.pk in doubts:
            move_doubt(a, moved, doubts[link.pk])
        else:
            a.write(moved)
        flag_loop(a, moved.child, moved.parent)
    _doubt_both(a, opposite, since)
    _move_over(a, opposite, since)
    _move_feeds(a, opposite, since)
    relocate(a, inside.values())
    write_holds(a, [Hold(item=item, reason=SWAP, scope=Hold.Scope.ALL, at=a.at) for item in (first, second)])
    return swap


def _links_since(first: Item, second: Item, since: datetime) -> list[Link]:
    """Links to and from two units since a moment."""
    touched = Link.objects.newest().filter(
        Q(child__in=[first, second]) | Q(parent__in=[first, second]),
        status=Link.Status.STANDS,
        at__gte=since,
        feed=None,
    )
    return list(touched.select_related("child__state", "parent__state"))


def _moving(first: Item, second: Item, links: Iterable[Link]) -> dict[int, Item]:
    """Both units with those that went into them, by number: where all of them are is worked out afresh."""
    inside = {link.parent_id: link.parent for link in links if link.parent.kind == Part.Tracked.UNIT}
    return inside | {first.pk: first, second.pk: second}


def _moved(link: Link, opposite: dict[int, Item]) -> Link:
    """A link as it stands once each unit is the other one."""
    ends = {
        "child": opposite.get(link.child_id, link.child),
        "parent": opposite.get(link.parent_id, link.parent),
    }
    same = {name: getattr(link, name) for name in ("at", "certainty", "share_ppb", "amount")}
    return Link(**ends, **same, reason=SWAP)


def _doubt_both(a: Act, opposite: dict[int, Item], since: datetime) -> None:
    """A lost tablet that was still in use when the labels changed places leaves its doubt about either unit."""
    of_either = Q(child__in=list(opposite)) | Q(parent__in=list(opposite))
    before = Link.objects.newest().filter(of_either, status=Link.Status.STANDS, reason=LOST, at__lt=since)
    doubts = list(before.select_related("child__state", "parent__state").order_by("pk"))
    ends = tablets_of(doubts)
    for doubt in doubts:
        ended, moved = ends[doubt.pk], _moved(doubt, opposite)
        known = Link.objects.newest().filter(child=moved.child, parent=moved.parent, status=Link.Status.STANDS)
        if (ended.at is None or ended.at > since) and not known.exists():
            move_doubt(a, moved, ended)


def _move_over(a: Act, opposite: dict[int, Item], since: datetime) -> None:
    """Both units stand where the other was last seen since the swap."""
    latest: dict[int, Move] = {}
    for move in Move.objects.filter(item_id__in=list(opposite), at__gte=since).order_by("at", "pk"):
        latest[move.item_id] = move
    a.write_all(Move(item=opposite[number], place_id=move.place_id, at=a.at) for number, move in latest.items())


def _move_feeds(a: Act, opposite: dict[int, Item], since: datetime) -> None:
    """What was mounted while one was worked went into the other."""
    uses = FeedUse.objects.newest().filter(
        unit_id__in=list(opposite), status=FeedUse.Status.STANDS, ended_at__gte=since
    )
    moved = [a.write(use.next_version(unit=opposite[use.unit_id])) for use in uses.select_related("station")]
    for station, head in sorted({(use.station_id, use.head) for use in moved}):
        rederive_feeds(a, Station.objects.get(pk=station), head)


def confirm_swap(swap: LabelSwap, *, words: str, said: Said) -> SwapConfirm:
    """Say how one knows which of two swapped units is which; after the second person both holds are lifted.

    Refuses ``second-person`` for a person who confirmed before, and ``no-reason``.
    """
    with act("swap confirmed", said, swap=swap.pk, words=Free(words)) as a:
        if a.made:
            return SwapConfirm.objects.get(entry=a.entry)
        if not words.strip():
            raise Refused("no-reason", "Write how you know which is which.")
        lock_items([swap.one, swap.other])
        if SwapConfirm.objects.filter(swap=swap, person=said.by).exists():
            raise Refused("second-person", "You have confirmed this. Another person must confirm it as well.")
        confirm = a.write(SwapConfirm(swap=swap, person=said.by, words=keep_words(words)))
        if SwapConfirm.objects.filter(swap=swap).count() == 2:
            _free_after_swap(a, swap)
        return confirm


def _free_after_swap(a: Act, swap: LabelSwap) -> None:
    for hold in Hold.objects.filter(entry=swap.entry, reason=SWAP, lift=None):
        a.write(HoldLift(hold=hold, at=a.at))
