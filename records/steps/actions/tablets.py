"""A tablet is locked out: nobody signs in there any more, and what may have been done there is told to every trace."""

from __future__ import annotations

from datetime import datetime

from plant.equipment.queries import station_by_code
from plant.people.models import Device, DeviceContact, DeviceEnded
from records.items.making import lock_items
from records.items.models import Link
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words

from ..lost import fills_possible

LOST = "tablet-lost"


def lock_out_tablet(code: str, *, reason: str, words: str = "", said: Said) -> DeviceEnded:
    """Lock a tablet out that is lost, broken or put out of use. What it still sends is kept and marked.

    Unless all of it had gone up, every pot that was open since its last contact counts as possible in every unit that
    could be filled at its station; those links are taken back (``withdraw``) once it is known what was done. Refuses
    ``unknown`` and ``locked-out``.
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
            _doubt_fills(a, device, unknown_since(device, heard))
        return ended


def unknown_since(device: Device, heard: DeviceContact | None) -> datetime:
    """Since when it is not known what was done on a tablet: its oldest unsent entry, else its last contact."""
    if heard is None:
        return device.entry.happened_at
    return heard.oldest_at if heard.unsent and heard.oldest_at else heard.at


def _doubt_fills(a: Act, device: Device, since: datetime) -> None:
    since = min(since, a.at)
    pairs = fills_possible(station_by_code(device.station), since, a.at)
    lock_items({item.pk: item for pair in pairs for item in pair}.values())
    a.write_all(
        Link(child=unit, parent=pot, at=since, certainty=Link.Certainty.POSSIBLE, reason=LOST) for unit, pot in pairs
    )
