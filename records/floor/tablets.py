"""What the server tells a tablet of itself and of the people on it, and what it hears of the tablet at each contact."""

from __future__ import annotations

from collections import defaultdict
from contextlib import suppress
from typing import Any

from django.conf import settings

from plant.people.models import BadgeChange, Device, Qualification
from plant.people.queries import works_zone
from plant.people.tablets import note_contact
from records.ledger.refusals import Refused

from .fields import LONGEST_CODE, Fields

MOST_UNSENT = 10**6
Data = dict[str, Any]


def about(code: str) -> Data:
    """As what a tablet is registered, none for another browser; and when it asks who is there."""
    device = Device.objects.filter(code=code).select_related("ended").first() if code else None
    tablet = None
    if device is not None:
        tablet = {"code": device.code, "station": device.station, "locked": hasattr(device, "ended")}
    still = {"asks_s": settings.STILL_ASKS_MIN * 60, "badge_s": settings.STILL_BADGE_MIN * 60}
    return {"tablet": tablet, "still": still}


def pin_revisions() -> dict[int, int]:
    """The entry that set each person's PIN in force: a tablet forgets what it knows of an older one."""
    set_last = BadgeChange.objects.filter(what=BadgeChange.What.PIN).order_by("entry_id")
    return dict(set_last.values_list("person_id", "entry_id"))


def qualifications() -> dict[int, list[Data]]:
    """For what each person is on the list, and until which day."""
    found: dict[int, list[Data]] = defaultdict(list)
    for row in Qualification.objects.standing().order_by("what", "pk"):
        until = row.until_on.isoformat() if row.until_on else ""
        found[row.person_id].append({"what": row.what, "from": row.from_on.isoformat(), "until": until})
    return found


def hear_of(told: object) -> None:
    """Note what a tablet tells of itself; what can't be read of it is left, since no entry hangs on it."""
    with suppress(Refused):
        fields = Fields(told, works_zone(), "tablet:")
        note_contact(
            fields.text("device", longest=LONGEST_CODE),
            station=fields.text("station"),
            unsent=fields.whole("unsent", most=MOST_UNSENT),
            oldest_at=fields.moment("oldest_at"),
            guesses=fields.whole("guesses", most=MOST_UNSENT),
        )
