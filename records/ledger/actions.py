"""What can happen to the book itself: personal words emptied, an unplaced entry settled."""

from __future__ import annotations

from uuid import UUID

from .acts import Free, Said, act
from .models import Entry, PrivateWords, Unplaced, UnplacedSettled, WordsErased
from .refusals import Conflict, Refused
from .words import keep_words


def erase_words(words: PrivateWords, *, reason: str, said: Said) -> WordsErased:
    """Empty personal words for good. The record keeps their commitment, which nobody can test without the salt.

    Back-ups made before still hold the words. Refuses ``unknown`` for a reason that is not in the list, and
    ``erased`` for words that are empty already.
    """
    with act("words erased", said, words=words.pk, reason=reason) as a:
        if a.made:
            return WordsErased.objects.get(entry=a.entry)
        held = PrivateWords.objects.select_for_update().get(pk=words.pk)
        if reason not in WordsErased.Reason.values:
            raise Refused("unknown", "%(reason)s is no reason to erase words. Choose one from the list.", reason=reason)
        if held.text is None or WordsErased.objects.filter(words=held).exists():
            raise Conflict("erased", "These words are erased already.")
        held.salt, held.text = None, None
        held.save()
        return a.write(WordsErased(words=held, reason=reason))


def settle_unplaced(
    unplaced: Unplaced, *, placed_by: UUID | None = None, reason: str = "", said: Said
) -> UnplacedSettled:
    """Settle an entry that could not be placed: by the key of the entry that tells it right, or aside with a reason.

    Refuses ``unknown`` for a key under which nothing stands, ``no-reason``, and ``settled`` when somebody was faster.
    """
    with act("unplaced settled", said, unplaced=unplaced.pk, placed_by=placed_by, reason=Free(reason)) as a:
        if a.made:
            return UnplacedSettled.objects.get(entry=a.entry)
        overtaken = Conflict("settled", "Somebody has settled this entry already.")
        if UnplacedSettled.objects.filter(unplaced=unplaced).exists():
            raise overtaken
        if placed_by is not None and not Entry.objects.filter(key=placed_by).exists():
            raise Refused("unknown", "No entry stands under this key. Enter what happened first.")
        if placed_by is None and not reason.strip():
            raise Refused("no-reason", "Write why this entry is set aside. The auditor will read it.")
        how = UnplacedSettled.How.ASIDE if placed_by is None else UnplacedSettled.How.PLACED
        row = UnplacedSettled(unplaced=unplaced, how=how, placed_by=placed_by, reason=keep_words(reason))
        return a.write_only(row, overtaken)
