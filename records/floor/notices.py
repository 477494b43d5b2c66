"""Holds of which somebody is told: who decides, the deputy, Stores for what is out, and who has seen it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlencode

from django.conf import settings
from django.urls import reverse
from django.utils.translation import gettext as _

from plant.people.deputies import deciders_on, named_for
from plant.people.models import Person
from plant.people.queries import people_with, works_day
from plant.people.rights import Role
from plant.speaking import say
from records.items.models import Hold, Item
from records.items.queries import OUT, SHIPPED, places_named
from records.items.reasons import reason_words
from records.ledger.clock import clock
from records.ledger.models import Entry

from .models import ByVoice
from .told import Rungs, Told, seen_of, seen_words, told_so_far
from .voice import voice_words, voices_of

# A hold is told for a day; older ones stand on the bench of Review. So many lines at once. Choices, no source.
TOLD_FOR = timedelta(hours=24)
MOST_LINES = 3


def passes_on_after() -> timedelta:
    """After this time unseen a hold is told to the deputy too, and after as much again to all of Review."""
    return timedelta(minutes=settings.HOLD_PASSES_ON_MIN)


@dataclass(frozen=True)
class Telling:
    """How holds are told in the house at present: read once for all of them."""

    decides: Rungs
    people: dict[str, list[Person]]
    seen: dict[int, dict[int, datetime]]
    voices: dict[int, list[ByVoice]]
    now: datetime

    def told(self, hold: Hold, where: str) -> list[Told]:
        """Everybody who is told by now of a hold on something that is there, and who has seen it."""
        also = {OUT: [Role.STORES], SHIPPED: [Role.REVIEW, Role.MANAGER]}.get(where, [])
        beside = [person for role in also for person in self.people[role]]
        rungs = Rungs(self.decides.first, self.decides.deputy, self.decides.then, beside)
        way = rungs.reached(hold.at, passes_on_after())
        return told_so_far(way, self.seen.get(hold.entry_id, {}), self.now, ends_when_seen=True)


def telling(holds: Iterable[Hold], now: datetime) -> Telling:
    """What the words about holds need; four queries whatever their number."""
    entries = {hold.entry_id for hold in holds}
    people = people_with(Role.REVIEW, Role.STORES, Role.MANAGER)
    named = named_for("hold lifted", works_day(now))
    review = people[Role.REVIEW]
    decides = Rungs([named.holder], named.deputy, review) if named else Rungs(review, None, [])
    return Telling(decides, people, seen_of(entries), voices_of(entries), now)


def who_decides(holds: Sequence[Hold], item: Item) -> dict[str, str]:
    """Who may lift what holds a thing, the deputy when that person is away, who has been told and has seen it."""
    now = clock.now()
    return {
        "decides": deciders_on(works_day(now)).get("hold lifted", ""),
        "told": told_lines(holds, item.state.where, now),
    }


def told_lines(holds: Sequence[Hold], where: str, now: datetime) -> str:
    """Who has been told of what holds a thing, and when they saw it, in the words of the held screen."""
    how = telling(holds, now)
    newest = max(holds, key=lambda hold: hold.at)
    told = how.told(newest, where)
    if voice := voice_words(how.voices.get(newest.entry_id, [])):
        return "; ".join(filter(None, [voice, seen_words(told)]))
    if not told:
        return _("Nobody may lift it at present. Tell your lead.")
    return seen_words(told) or unseen_words([row.person.name for row in told])


def unseen_words(names: Sequence[str]) -> str:
    """That nobody has looked at it yet, as the pages know."""
    return _("It stands on the page of %(names)s: nobody has seen it yet, tell them by voice.") % {
        "names": ", ".join(names[:2])
    }


@dataclass(frozen=True)
class Notice:
    """A line on the page of whoever is told of holds: one entry, however much it holds."""

    entry: Entry
    words: str
    address: str

    @property
    def key(self) -> str:
        return str(self.entry.key)


def notices_for(person: Person, now: datetime) -> list[Notice]:
    """Holds that a person is told of, those that nobody of theirs has seen first in time; a few of them."""
    if not person.may("notice seen"):
        return []
    recent = Hold.objects.filter(lift=None, at__gte=now - TOLD_FOR, at__lte=now).exclude(entry__by=person)
    recent = recent.exclude(entry__seen_by__person=person)
    holds = list(recent.select_related("entry", "item__state", "item__state__place").order_by("at", "pk"))
    if not holds:
        return []
    how = telling(holds, now)
    by_entry: dict[int, list[Hold]] = defaultdict(list)
    for hold in holds:
        if any(row.person.pk == person.pk for row in how.told(hold, hold.item.state.where)):
            by_entry[hold.entry_id].append(hold)
    where = {hold.item.state.place_id for rows in by_entry.values() for hold in rows}
    places = places_named(place for place in where if place is not None)
    return [_notice(rows, places) for rows in list(by_entry.values())[:MOST_LINES]]


def held_words(holds: Iterable[Hold]) -> str:
    """What one entry holds, and where it is, as the line that tells of it says."""
    rows = list(holds)
    return _notice(rows, places_named(place for hold in rows if (place := hold.item.state.place_id) is not None)).words


def _notice(holds: Sequence[Hold], places: dict[int, str]) -> Notice:
    """One line: what is held and why; where it is away, that somebody has to call there."""
    first = holds[0]
    address = f"{reverse('trace:find')}?{urlencode({'code': first.item.code})}"
    told = {"code": first.item.code, "why": reason_words(first.reason), "n": len(holds)}
    told["place"] = places.get(first.item.state.place_id or 0, "")
    if len(holds) > 1:
        return Notice(first.entry, say("%(code)s and %(n)s in all are held: %(why)s.", **told), address)
    if first.item.state.where in (OUT, SHIPPED):  # somebody has to call there, and notes it on this page
        address = reverse("floor:call_told", args=[first.entry.key])
    match first.item.state.where:
        case "out":
            words = say(
                "%(code)s is held and is at %(place)s. Call them: nothing more may be done to it. Why: %(why)s.", **told
            )
        case "shipped":
            words = say(
                "%(code)s is held and has left the works, to %(place)s. Decide who calls there. Why: %(why)s.", **told
            )
        case _:
            words = say("%(code)s is held: %(why)s.", **told)
    return Notice(first.entry, words, address)
