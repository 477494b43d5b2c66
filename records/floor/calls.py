"""How a call for the lead stands: whom it rings for, who has seen it, and what the one who called is told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.utils.translation import gettext as _

from plant.people.deputies import named_for
from plant.people.models import Person
from plant.people.queries import people_with, works_day
from plant.people.rights import Role
from plant.speaking import word

from .models import ByVoice, Call
from .told import Rungs, Told, clock_words, names_of_told, seen_of, told_so_far
from .voice import voice_words, voices_of

# A call rings no longer than a shift lasts; older ones stand on the hand-over. A page in front shows a call within ten
# seconds; where none has after a minute, nobody has been told. Choices of this project, no source.
RINGS_FOR = timedelta(hours=8)
SHOWS_WITHIN = timedelta(minutes=1)
LATEST = 12


def passes_on_after() -> timedelta:
    """After this time without an answer a call goes to the deputy too, and after as much again to Review."""
    return timedelta(minutes=settings.CALL_PASSES_ON_MIN)


@dataclass(frozen=True)
class Ringing:
    """How calls go through the house at present: read once for all calls of a page."""

    rungs: Rungs
    seen: dict[int, dict[int, datetime]]
    voices: dict[int, list[ByVoice]]
    now: datetime

    def told(self, call: Call) -> list[Told]:
        """Everybody for whom a call rings by now, and who has seen it."""
        way = self.rungs.reached(call.called_at, passes_on_after())
        return told_so_far(way, self.seen.get(call.entry_id, {}), self.now)

    def rings_for(self, call: Call, person: Person) -> bool:
        return any(row.person.pk == person.pk for row in self.told(call))


def ringing(calls: list[Call], now: datetime) -> Ringing:
    """What the words about calls need; four queries whatever their number."""
    people = people_with(Role.LEAD, Role.REVIEW)
    named = named_for("call answered", works_day(now))
    first = [*([named.holder] if named else []), *people[Role.LEAD]]
    rungs = Rungs(first, named.deputy if named else None, people[Role.REVIEW])
    entries = [call.entry_id for call in calls]
    return Ringing(rungs, seen_of(entries), voices_of(entries), now)


def calls_for(person: Person, now: datetime) -> list[Call]:
    """Calls that ring for a person, the oldest first."""
    if not person.may("call answered"):
        return []
    calls = ringing_calls(now)
    if not calls:
        return []
    how = ringing(calls, now)
    return [call for call in calls if how.rings_for(call, person)]


def ringing_calls(now: datetime) -> list[Call]:
    """Every call that rings, the oldest first: for whoever answers none and was told of one by voice."""
    return list(Call.objects.ringing(now - RINGS_FOR).with_answers().order_by("called_at"))


def latest_calls() -> list[Call]:
    """The latest that were answered or heard by nobody."""
    return list(Call.objects.with_answers().exclude(answer=None, was_heard=True).order_by("-called_at")[:LATEST])


def state_of(call: Call, told: list[Told], now: datetime) -> str:
    """How a call stands: "answered", "unheard", "untold" where no page has shown it, or "waiting"."""
    if hasattr(call, "answer"):
        return "answered"
    if not call.was_heard:
        return "unheard"
    shown = any(row.seen_at is not None for row in told)
    return "waiting" if shown or now - call.called_at < SHOWS_WITHIN else "untold"


def sentence(call: Call, now: datetime, how: Ringing | None = None) -> str:
    """What the one who called is told of it: who was told and has seen it, who answers, whom it was passed on to, and
    what was done by voice.
    """
    if hasattr(call, "answer"):
        return _stands(call, now, [])
    how = how or ringing([call], now)
    spoken = voice_words(how.voices.get(call.entry_id, []))
    if spoken and not call.was_heard:
        return spoken
    return " ".join(filter(None, [_stands(call, now, how.told(call) if call.was_heard else []), spoken]))


def _stands(call: Call, now: datetime, told: list[Told]) -> str:
    """How it stands by what pages have shown."""
    called = clock_words(call.called_at)
    match state_of(call, told, now):
        case "answered":
            answer = call.answer
            return _("Called %(called)s, %(name)s answered %(answered)s: %(words)s") % {
                "called": called,
                "name": answer.entry.by.name,
                "answered": clock_words(answer.entry.happened_at),
                "words": answer.told,
            }
        case "unheard":
            return _("Nobody has been told. Call by voice.")
        case "untold":
            words = _("Called %(called)s. Nobody has been told: no page of theirs has shown it. Call by voice.")
            return " ".join([words % {"called": called}, *_passed_on(call, told)])
    return " ".join([_("Called %(called)s.") % {"called": called}, _seen(told), *_passed_on(call, told)])


def _seen(told: list[Told]) -> str:
    """Who has seen it first; else for whom it rings."""
    shown = [row for row in told if row.seen_at is not None]
    if not shown:
        return _("It rings for %(names)s: nobody has seen it yet.") % {"names": names_of_told(told)}
    first = min(shown, key=lambda row: row.seen_at or row.since)
    return _("%(words)s, no answer yet.") % {"words": first.words}


def _passed_on(call: Call, told: list[Told]) -> list[str]:
    """To whom it was passed on last."""
    later = [row for row in told if row.since > call.called_at]
    if not later:
        return []
    last = max(row.since for row in later)
    names = names_of_told([row for row in later if row.since == last])
    minutes = int((last - call.called_at) / timedelta(minutes=1))
    return [_("After %(minutes)s min it rings for %(names)s too.") % {"minutes": minutes, "names": names}]


def where(call: Call) -> str:
    """Who calls to where, in one line."""
    told = {"name": call.entry.by.name, "station": word(str(call.station)) if call.station else _("the floor")}
    if call.unit is None:
        return _("%(name)s calls you to %(station)s.") % told
    return _("%(name)s calls you to %(station)s, for %(unit)s.") % {**told, "unit": call.unit.code}
