"""Questions about people and the works."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from records.ledger.refusals import Refused

from .models import Person, Qualification, Works


def person_by_badge(badge: str) -> Person:
    """Person by badge. Refuses ``unknown``."""
    person = Person.objects.filter(badge__iexact=badge.strip(), login=True).first()
    if person is None:
        raise Refused("unknown", "No badge %(badge)s here. Scan it again.", badge=badge.strip())
    return person


def works_zone() -> ZoneInfo:
    """Zone that the works' clocks show; UTC before a works is opened."""
    works = Works.current()
    return ZoneInfo(works.zone if works else "UTC")


def works_day(moment: datetime) -> date:
    """Day of a moment by the works' calendar."""
    return moment.astimezone(works_zone()).date()


def is_qualified(person: Person, what: str, day: date) -> bool:
    """Whether a person may do an operation, or use a kind of gauge, on a day."""
    standing = Qualification.objects.standing().filter(person=person, what=what, from_on__lte=day)
    return any(row.until_on is None or row.until_on >= day for row in standing)
