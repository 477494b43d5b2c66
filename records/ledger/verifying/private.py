"""Private words held against their commitments, and empty ones against the acts that emptied them."""

from __future__ import annotations

from ..models import PrivateWords, WordsErased
from ..words import commitment
from .faults import Fault
from .reading import pages

TABLE = "ledger_privatewords"


def words_faults() -> list[Fault]:
    """Words that are not those committed to, emptied without an act, or there in spite of one."""
    erased = dict(WordsErased.objects.filter(entry__kind="words erased").values_list("words_id", "entry_id"))
    faults = []
    for page in pages(PrivateWords.objects.all(), "pk", "salt", "text", "commitment"):
        for pk, salt, text, committed in page:
            if salt is None and text is None:
                if pk in erased:
                    continue
                words = "The words are gone, and no entry says that they were erased."
            elif pk in erased:
                words = f"Entry {erased[pk]:,} erased these words, yet they stand here."
            elif salt is None or text is None or commitment(bytes(salt), text) != bytes(committed):
                words = "The words are not those that the record commits to."
            else:
                continue
            faults.append(Fault("row-changed", TABLE, words, row=pk, entry=erased.get(pk), column="text"))
    return faults
