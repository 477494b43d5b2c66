"""What was done by voice about calls and holds, in words for whoever waits for it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from plant.speaking import say

from .models import ByVoice
from .told import clock_words


def voices_of(entries: Iterable[int]) -> dict[int, list[ByVoice]]:
    """What was noted of each entry, the latest first; one query."""
    found: dict[int, list[ByVoice]] = defaultdict(list)
    rows = ByVoice.objects.filter(of__in=set(entries)).select_related("words", "entry__by__name_words")
    for row in rows.order_by("-at", "-pk"):
        found[row.of_id].append(row)
    return found


def voice_words(rows: Sequence[ByVoice]) -> str:
    """The latest of them in one line; empty where there is none."""
    if not rows:
        return ""
    return say(
        "%(name)s, %(at)s: %(words)s", name=rows[0].entry.by.name, at=clock_words(rows[0].at), words=rows[0].told
    )
