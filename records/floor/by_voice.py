"""What is phoned or told by voice, as a tablet takes it along: what it may be about, and what may be said."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from plant.speaking import in_each_language
from records.ledger.models import Entry
from records.ledger.refusals import Refused

from .calls import where
from .models import ByVoice, Call, CallAnswer

# Choice of this project, no source: calls as old are told at the change of shift.
SINCE = timedelta(hours=24)
LABEL, ANSWER = "told by voice", "answer a call"


def calls_to_tell(now: datetime) -> list[dict[str, Any]]:
    """Calls without an answer that anybody may have been told of, the oldest first."""
    rows = Call.objects.unanswered().filter(called_at__gte=now - SINCE).with_answers().order_by("called_at")
    return [{"key": str(call.entry.key), "what": in_each_language(_where(call)), "call": True} for call in rows]


def _where(call: Call) -> Callable[[], str]:
    return lambda: where(call)


def says_data() -> list[list[str]]:
    """What may be said, in the language in use."""
    return [[value, str(label)] for value, label in ByVoice.Says.choices]


def answers_data() -> list[list[str]]:
    """What may be answered to a call, in the language in use."""
    return [[value, str(label)] for value, label in CallAnswer.Says.choices]


def entry_to_answer(of: UUID) -> dict[str, Any]:
    """The answer to a call as the outbox of a tablet takes it; a script puts in what was pressed and written."""
    return {"kind": "answer", "payload": {"of": str(of), "says": "", "words": ""}, "done": True, "label": ANSWER}


def call_of(key: UUID) -> Call:
    """The call that an entry made. Refuses ``unknown``."""
    found = Call.objects.filter(entry__key=key).first()
    if found is None:
        raise Refused("unknown", "There is no such call.")
    return found


def entry_to_tell(of: UUID) -> dict[str, Any]:
    """The note as the outbox of a tablet takes it; a script puts in what was pressed and what is written beside it."""
    payload = {"of": str(of), "says": "", "words": ""}
    return {"kind": "voice", "payload": payload, "done": True, "label": LABEL}


def entry_under(key: UUID) -> Entry:
    """The entry that called or held. Refuses ``unknown``."""
    found = Entry.objects.filter(key=key).first()
    if found is None:
        raise Refused("unknown", "This is neither a call nor a hold.")
    return found
