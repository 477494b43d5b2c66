"""A unit that was told as made by a mis-tap is taken back, with the step that made it."""

from __future__ import annotations

from uuid import UUID

from records.items.actions.correcting import entry_of
from records.items.deriving import rederive_feeds
from records.items.locking import lock_items
from records.items.models import FeedUse, Loss
from records.items.unmaking import unmake
from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Refused

from ..carrying import take_back_carriers
from ..models import StepRecord
from ..recording import count_cycles, wait_for_next


def withdraw_unit(of: UUID, *, words: str, said: Said) -> Loss:
    """Take back a unit that was not made: what went in is free again, its tools count one use less.

    Refuses ``unknown`` for what made no unit, ``worked-on`` where another step of it stands, ``already-used`` where it
    went into another.
    """
    with act("entry withdrawn", said, of=of, words=Free(words)) as a:
        if a.made:
            return Loss.objects.get(entry=a.entry)
        entry = entry_of(of)
        standing = StepRecord.objects.newest().filter(status=StepRecord.Status.STANDS)
        record = standing.filter(entry=entry).select_related("unit__state").first()
        if entry.kind != "unit made" or record is None:
            raise Refused("unknown", "This entry made no unit that still stands.")
        unit = record.unit
        lock_items([unit])
        since = standing.filter(unit=unit).exclude(pk=record.pk).select_related("operation").first()
        if since is not None:
            raise Refused(
                "worked-on",
                "%(code)s has been through %(step)s since. It can't be undone: tell your lead.",
                code=unit.code,
                step=since.operation.name,
            )
        loss = unmake(a, unit, words)
        a.write(record.next_version(status=StepRecord.Status.WITHDRAWN))
        count_cycles(a, [use.tool for use in record.tools.select_related("tool")], by=-1)
        for use in FeedUse.objects.standing().filter(unit=unit).select_related("station"):
            a.write(use.next_version(status=FeedUse.Status.WITHDRAWN))
            rederive_feeds(a, use.station, use.head)
        take_back_carriers(a, entry.pk)
        wait_for_next(a, unit)
        return loss
