"""A sitting: somebody has signed in on a tablet, and the server says so in a signed line that the tablet keeps.

Entries that a person made on this tablet during a sitting may go up while somebody else is signed in there: the line
proves whose they are. Entries without one wait on the tablet until their person signs in. A sitting opens no page.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.core import signing

from plant.people.models import Person
from records.ledger.canonical import time_text
from records.ledger.clock import clock
from records.ledger.refusals import Refused

SALT = "records.floor.sitting"
# A shift and its overtime. A choice of this project, no source.
LASTS = timedelta(hours=16)


def sitting_of(person: Person, device: str, since: datetime | None = None) -> str:
    """The signed line that a person sits at a device, from now on where no beginning is told."""
    begun = since or clock.now()
    return signing.dumps({"who": person.pk, "device": device, "at": time_text(begun)}, salt=SALT)


def check_sitting(line: str, person: Person, device: str, at: datetime) -> datetime:
    """When it began. Refuses ``other-person`` where a line does not say that the person sat there at that time."""
    try:
        told = signing.loads(line, salt=SALT)
        begun = datetime.fromisoformat(told["at"])
    except (signing.BadSignature, KeyError, TypeError, ValueError):
        told, begun = {}, at
    is_theirs = told.get("who") == person.pk and told.get("device") == device
    if not is_theirs or abs(at - begun) > LASTS:
        raise Refused(
            "other-person",
            "%(name)s made this. It stays on this tablet until %(name)s signs in here.",
            name=person.name,
        )
    return begun
