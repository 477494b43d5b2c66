"""How a call for the lead stands: whom it rings for, and what the one who called is told."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.utils.translation import gettext as _

from plant.people.models import Person
from plant.people.queries import works_zone
from plant.people.rights import Role

from .models import Call

# A call rings no longer than a shift lasts; older ones stand on the hand-over. A choice of this project, no source.
RINGS_FOR = timedelta(hours=8)
LATEST = 12


def passes_on_after() -> timedelta:
    """After this time without an answer a call goes to the deputy too."""
    return timedelta(minutes=settings.CALL_PASSES_ON_MIN)


def calls_for(person: Person, now: datetime) -> list[Call]:
    """Calls that ring for a person, the oldest first: for a lead at once, for the deputy once nobody has answered."""
    if not person.may("call answered"):
        return []
    ringing = Call.objects.ringing(now - RINGS_FOR).with_answers().order_by("called_at")
    if Role.LEAD not in person.roles:
        ringing = ringing.filter(called_at__lte=now - passes_on_after())
    return list(ringing)


def latest_calls() -> list[Call]:
    """The latest that were answered or heard by nobody."""
    return list(Call.objects.with_answers().exclude(answer=None, was_heard=True).order_by("-called_at")[:LATEST])


def is_passed_on(call: Call, now: datetime) -> bool:
    """Whether the deputy is called too."""
    return now - call.called_at >= passes_on_after()


def state_of(call: Call, now: datetime) -> str:
    """How a call stands: "answered", "unheard", "deputy" or "waiting"."""
    if hasattr(call, "answer"):
        return "answered"
    if not call.was_heard:
        return "unheard"
    return "deputy" if is_passed_on(call, now) else "waiting"


def sentence(call: Call, now: datetime) -> str:
    """What the one who called is told of it."""
    called = _clock(call.called_at)
    match state_of(call, now):
        case "answered":
            answer = call.answer
            return _("Called %(called)s, %(name)s answered %(answered)s: %(words)s") % {
                "called": called,
                "name": answer.entry.by.name,
                "answered": _clock(answer.entry.happened_at),
                "words": answer.told,
            }
        case "unheard":
            return _("Nobody has been told. Call by voice.")
        case "deputy":
            return _("Called %(called)s. Nobody has answered for %(minutes)s min: the deputy is called too.") % {
                "called": called,
                "minutes": settings.CALL_PASSES_ON_MIN,
            }
    return _("Called %(called)s. Nobody has answered yet.") % {"called": called}


def where(call: Call) -> str:
    """Who calls to where, in one line."""
    told = {"name": call.entry.by.name, "station": call.station or _("the floor")}
    if call.unit is None:
        return _("%(name)s calls you to %(station)s.") % told
    return _("%(name)s calls you to %(station)s, for %(unit)s.") % {**told, "unit": call.unit.code}


def _clock(moment: datetime) -> str:
    return f"{moment.astimezone(works_zone()):%H:%M}"
