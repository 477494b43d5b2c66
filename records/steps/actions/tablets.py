"""A tablet is locked out: nobody signs in there any more, and what may have been done there is told to every trace."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Q, QuerySet

from plant.equipment.queries import station_by_code
from plant.people.models import Device, DeviceContact, DeviceEnded, DeviceSettled
from records.items.doubting import LOST, answered
from records.items.locking import lock_items
from records.items.models import Item, Link, TankLock
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words

from ..lost import links_possible


def lock_out_tablet(code: str, *, reason: str, words: str = "", said: Said) -> DeviceEnded:
    """Lock a tablet out that is lost, broken or put out of use. What it still sends is kept and marked.

    Unless all of it had gone up, what may have gone into something since its last contact counts as possible
    (``links_possible``). Each entry that comes in after all answers for what it names (``answer_doubts``), and
    ``settle_tablet`` for the rest. Refuses ``unknown`` and ``locked-out``.
    """
    with act("tablet locked out", said, tablet=code.strip(), reason=reason, words=Free(words)) as a:
        if a.made:
            return DeviceEnded.objects.get(entry=a.entry)
        device = Device.objects.filter(code=code.strip()).select_related("entry").first()
        if device is None:
            raise Refused("unknown", "No tablet %(tablet)s is registered here.", tablet=code.strip())
        if reason not in DeviceEnded.Reason.values:
            raise Refused("unknown", "Choose what became of the tablet from the list.")
        heard = DeviceContact.objects.filter(device=device).first()
        overtaken = Conflict("locked-out", "%(tablet)s is locked out already.", tablet=device.code)
        told = {"last_contact": heard.at if heard else None, "at": a.at, "words": keep_words(words)}
        ended = a.write_only(DeviceEnded(device=device, reason=reason, **told), overtaken)
        if ended.leaves_doubt:
            _doubt_links(a, device, unknown_since(device, heard))
        return ended


def unknown_since(device: Device, heard: DeviceContact | None) -> datetime:
    """Since when it is not known what was done on a tablet: its oldest unsent entry, else its last contact."""
    if heard is None:
        return device.entry.happened_at
    return heard.oldest_at if heard.unsent and heard.oldest_at else heard.at


def _doubt_links(a: Act, device: Device, since: datetime) -> None:
    since = min(since, a.at)
    list(TankLock.objects.select_for_update().order_by("pk"))  # a draw that is told meanwhile sees the lock-out
    pairs = links_possible(station_by_code(device.station), since, a.at)
    lock_items({item.pk: item for pair in pairs for item in pair}.values())
    a.write_all(
        Link(child=child, parent=lot, at=since, certainty=Link.Certainty.POSSIBLE, reason=LOST) for child, lot in pairs
    )


def settle_tablet(code: str, *, words: str, said: Said) -> DeviceSettled:
    """It is known what was done on a tablet that was locked out: what it left as possible is possible no more.

    Refuses ``unknown`` for a tablet that left no doubt, ``settled`` and ``no-reason``.
    """
    with act("tablet settled", said, tablet=code.strip(), words=Free(words)) as a:
        if a.made:
            return DeviceSettled.objects.get(entry=a.entry)
        ended = DeviceEnded.objects.filter(device__code=code.strip()).select_related("device", "entry").first()
        if ended is None or not ended.leaves_doubt:
            raise Refused("unknown", "No tablet %(tablet)s is locked out and leaves a doubt.", tablet=code.strip())
        if not words.strip():
            raise Refused("no-reason", "Write how you know what was done on %(tablet)s.", tablet=ended.device.code)
        overtaken = Conflict("settled", "%(tablet)s was settled before.", tablet=ended.device.code)
        settled = a.write_only(DeviceSettled(ended=ended, words=keep_words(words)), overtaken)
        lock_items(Item.objects.filter(made_from__in=doubts_left([ended])).distinct())
        a.write_all(answered(doubt) for doubt in doubts_left([ended]).order_by("pk"))
        return settled


def doubts_left(ended: Iterable[DeviceEnded]) -> QuerySet[Link]:
    """Links that are possible because of tablets that were locked out, and not answered yet."""
    entries = [one.entry_id for one in ended]
    theirs = Q(entry__in=entries) | Q(doubt_moved__ended__entry__in=entries)
    return Link.objects.newest().filter(theirs, reason=LOST, status=Link.Status.STANDS)
