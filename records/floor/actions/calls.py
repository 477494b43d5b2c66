"""The lead is called, and answers."""

from __future__ import annotations

from datetime import timedelta

from django.utils.translation import gettext_noop as _

from plant.codes import fold
from plant.equipment.models import Station
from records.floor.models import Call, CallAnswer
from records.items.queries import find_item
from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words

# A call that takes longer to arrive was told to its maker as heard by nobody. A choice of this project, no source.
FRESH = timedelta(seconds=60)


def call_lead(station: str = "", *, unit: str = "", said: Said) -> Call:
    """Call the lead to a station. A call is never refused for what it names: what is unknown is left out.

    One that arrives more than a minute after it was made was heard by nobody, and is kept as such.
    """
    with act("lead called", said, station=station.strip().casefold(), unit=fold(unit)) as a:
        if a.made:
            return Call.objects.get(entry=a.entry)
        place = Station.objects.filter(code__iexact=station.strip()).first()
        was_heard = a.entry.taken_at - a.at <= FRESH
        if not was_heard:
            a.flag("not-heard")
        return a.write(Call(station=place, unit=find_item(unit), called_at=a.at, was_heard=was_heard))


def answer_call(call: Call, *, says: str, words: str = "", said: Said) -> CallAnswer:
    """Answer a call, by a ready answer or in one's own words.

    Refuses ``unknown``, ``no-words``, and ``answered`` where somebody was faster.
    """
    with act("call answered", said, call=call.pk, says=says, words=Free(words)) as a:
        if a.made:
            return CallAnswer.objects.get(entry=a.entry)
        if says not in CallAnswer.Says.values:
            raise Refused("unknown", "Choose an answer from the list.")
        if says == CallAnswer.Says.OWN and not words.strip():
            raise Refused("no-words", "Write what is to be done.")
        overtaken = _overtaken(call)
        if CallAnswer.objects.filter(call=call).exists():
            raise overtaken
        return a.write_only(CallAnswer(call=call, says=says, words=keep_words(words)), overtaken)


def _overtaken(call: Call) -> Conflict:
    """What is told to whoever answered second: which call, and that nobody reads their answer. It names no person."""
    if call.station is None:
        words = _(
            "Somebody has answered this call already. Nobody reads this answer: if it counts still, say it by voice."
        )
        return Conflict("answered", words)
    words = _(
        "Somebody has answered the call to %(station)s already. "
        "Nobody reads this answer: if it counts still, say it by voice."
    )
    return Conflict("answered", words, station=str(call.station))
