"""Tablets of the works as Review sees them, and which stations stand without theirs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from plant.equipment.models import Station
from plant.people.models import Device, DeviceContact, DeviceEnded
from records.steps.actions.tablets import doubts_left

from .sheets import sheets_out


@dataclass(frozen=True)
class TabletHere:
    """A registered tablet: its station, what it told at its last contact, and whether it is locked out."""

    device: Device
    station: str
    contact: DeviceContact | None
    ended: DeviceEnded | None
    left: int = 0  # links that are possible because of it

    @property
    def is_open(self) -> bool:
        """Whether it is not settled yet what was done there."""
        return self.ended is not None and self.ended.leaves_doubt and not hasattr(self.ended, "settled")

    @property
    def code(self) -> str:
        return self.device.code

    @property
    def since(self) -> datetime:
        """The moment from which on something may have been done there of which nobody was told."""
        contact = self.contact
        if contact is None:
            return self.device.entry.happened_at
        return contact.oldest_at if contact.unsent and contact.oldest_at else contact.at


def tablets_here() -> list[TabletHere]:
    """Every tablet, those in use first, by number; three queries whatever their number."""
    doubts = doubts_left(DeviceEnded.objects.all()).values_list("entry", "doubt_moved__ended__entry")
    left = Counter(moved or entry for entry, moved in doubts)
    names = dict(Station.objects.values_list("code", "name"))
    related = ("contact", "ended__words", "ended__entry__by__name_words", "ended__settled", "entry")
    rows = [
        TabletHere(
            device,
            names.get(device.station) or device.station,
            getattr(device, "contact", None),
            getattr(device, "ended", None),
            left[device.ended.entry_id] if hasattr(device, "ended") else 0,
        )
        for device in Device.objects.select_related(*related).order_by("code")
    ]
    return sorted(rows, key=lambda row: row.ended is not None)


def locked_words(stations: Iterable[str] = ()) -> list[str]:
    """A sentence for each station that stands without its tablet: what to use there; all of them without names."""
    if not DeviceEnded.objects.exclude(reason=DeviceEnded.Reason.RETIRED).exists():
        return []
    tablets = tablets_here()
    served = {row.device.station for row in tablets if row.ended is None}
    lost = {row.device.station: row for row in tablets if row.ended is not None and row.ended.leaves_doubt}
    wanted = set(stations) or lost.keys()
    bare = [row for code, row in lost.items() if code not in served and code in wanted]
    sheets = {sheet.station.code: sheet.code for sheet in sheets_out()} if bare else {}
    return [_words(row, sheets.get(row.device.station, "")) for row in bare]


def _words(row: TabletHere, sheet: str) -> str:
    if sheet:
        return _("Tablet %(station)s is locked. Use sheet %(sheet)s.") % {"station": row.station, "sheet": sheet}
    return _("Tablet %(station)s is locked. Ask your lead for a sheet.") % {"station": row.station}
