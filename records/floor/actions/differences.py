"""Entries that were judged by other rules than their tablet showed are noted for Review, and looked at."""

from __future__ import annotations

from collections.abc import Sequence

from records.floor.models import Difference, DifferenceAnswer
from records.ledger.acts import Free, Said, act
from records.ledger.models import Entry
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words


def note_differences(entry: Entry, found: Sequence[Difference], *, said: Said) -> list[Difference]:
    """Note where a tablet showed other revisions than those in force, once for each entry."""
    told = [{"what": row.what, "seen": row.seen, "judged": row.judged} for row in found]
    with act("difference noted", said, about=entry.pk, found=told) as a:
        if a.made:
            return list(Difference.objects.filter(entry=a.entry).order_by("pk"))
        for row in found:
            a.write(row)
        return list(found)


def answer_difference(difference: Difference, *, found: str, words: str, said: Said) -> DifferenceAnswer:
    """Say what was found by whoever compared the two rules.

    Refuses ``unknown``, ``no-reason``, and ``answered`` where somebody was faster.
    """
    with act("difference answered", said, difference=difference.pk, found=found, words=Free(words)) as a:
        if a.made:
            return DifferenceAnswer.objects.get(entry=a.entry)
        if found not in DifferenceAnswer.Found.values:
            raise Refused("unknown", "Choose what was found from the list.")
        if not words.strip():
            raise Refused("no-reason", "Write what you found. The auditor will read it.")
        overtaken = Conflict("answered", "Somebody has answered this one already.")
        if DifferenceAnswer.objects.filter(difference=difference).exists():
            raise overtaken
        return a.write_only(DifferenceAnswer(difference=difference, found=found, words=keep_words(words)), overtaken)
