"""Whoever was called notes that they phoned, or were told by voice."""

from __future__ import annotations

from records.floor.models import ByVoice, Call
from records.items.models import Hold
from records.ledger.acts import Free, Said, act
from records.ledger.models import Entry
from records.ledger.refusals import Refused
from records.ledger.words import keep_words


def note_by_voice(of: Entry, *, says: str, words: str = "", said: Said) -> ByVoice:
    """Note what was done by voice about a call or a hold; it answers no call and lifts no hold.

    Refuses ``unknown`` for what is neither and for what is on no list, and ``no-words``.
    """
    with act("told by voice", said, of=of.pk, says=says, words=Free(words)) as a:
        if a.made:
            return ByVoice.objects.get(entry=a.entry)
        if says not in ByVoice.Says.values:
            raise Refused("unknown", "Choose an answer from the list.")
        if says == ByVoice.Says.OWN and not words.strip():
            raise Refused("no-words", "Write what was said.")
        if not (Call.objects.filter(entry=of).exists() or Hold.objects.filter(entry=of).exists()):
            raise Refused("unknown", "This is neither a call nor a hold.")
        return a.write(ByVoice(of=of, says=says, words=keep_words(words), at=a.at))
