"""Who is told of a call or of a hold, one after the other, and when their page showed it to them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from plant.people.models import Person
from plant.people.queries import works_day, works_zone
from plant.templatetags.showing import when
from records.ledger.clock import clock

from .models import Seen

NAMED = 2  # so many people are named in a line; a choice of this project, no source


@dataclass(frozen=True)
class Rungs:
    """Who is told at once; then the deputy of the one who decides; beyond that everybody of a role.

    ``also`` are told at once beside them: who has to do something about it, and decides nothing.
    """

    first: Sequence[Person]
    deputy: Person | None
    then: Sequence[Person]
    also: Sequence[Person] = ()

    def reached(self, since: datetime, after: timedelta) -> list[tuple[Person, datetime]]:
        """Everybody on the way, and from when on each is told; nobody twice."""
        steps = [*((person, since) for person in (*self.first, *self.also))]
        if self.deputy is not None:
            steps.append((self.deputy, since + after))
        beyond = since + (after * 2 if self.deputy is not None else after)
        steps += [(person, beyond) for person in self.then]
        found: dict[int, tuple[Person, datetime]] = {}
        for person, at in steps:
            found.setdefault(person.pk, (person, at))
        return list(found.values())


@dataclass(frozen=True)
class Told:
    """One person who is told: since when, and when it stood on their page; never, as yet, where that is empty."""

    person: Person
    since: datetime
    seen_at: datetime | None = None

    @property
    def words(self) -> str:
        """In one line, for whoever waits for it."""
        if self.seen_at is None:
            return _("%(name)s has not seen it yet") % {"name": self.person.name}
        return _("%(name)s saw it %(seen)s") % {"name": self.person.name, "seen": clock_words(self.seen_at)}


def seen_of(entries: Iterable[int]) -> dict[int, dict[int, datetime]]:
    """When each person's page has shown what an entry tells of, by entry and person; one query."""
    found: dict[int, dict[int, datetime]] = defaultdict(dict)
    for of, person, at in Seen.objects.filter(of__in=set(entries)).values_list("of_id", "person_id", "at"):
        found[of][person] = at
    return found


def told_so_far(
    way: Sequence[tuple[Person, datetime]], seen: Mapping[int, datetime], now: datetime, *, ends_when_seen: bool = False
) -> list[Told]:
    """Everybody who is told by now. ``ends_when_seen``: it goes no further once somebody has seen it."""
    found: list[Told] = []
    for person, since in way:
        shown = [row.seen_at for row in found if row.seen_at is not None and row.since < since]
        if since > now or (ends_when_seen and any(at <= since for at in shown) and person.pk not in seen):
            continue
        found.append(Told(person, since, seen.get(person.pk)))
    return found


def seen_words(told: Sequence[Told]) -> str:
    """Who has seen it, and who not yet: those who have first, in one line."""
    seen = sorted((row for row in told if row.seen_at is not None), key=lambda row: row.seen_at or row.since)
    rows = [row.words for row in (*seen, *(row for row in told if row.seen_at is None))]
    return "; ".join(rows[:NAMED]) if seen else ""


def names_of_told(told: Sequence[Told]) -> str:
    """Those who are told, by name."""
    names = [row.person.name for row in told]
    more = len(names) - NAMED
    if more > 0:
        return _("%(names)s and %(more)s more") % {"names": ", ".join(names[:NAMED]), "more": more}
    return ", ".join(names)


def clock_words(moment: datetime) -> str:
    """A time of today; of another day with its day, as a screen of the floor says it."""
    return f"{moment.astimezone(works_zone()):%H:%M}" if works_day(moment) == works_day(clock.now()) else when(moment)
