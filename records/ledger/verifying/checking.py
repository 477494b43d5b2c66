"""The whole verification in one pass over the payloads, in order of entry numbers."""

from __future__ import annotations

from django.db import connection

from .. import merkle, triggers
from ..models import EntryBody
from .faults import Fault, Noted, Verified
from .pictures import photo_faults
from .private import words_faults
from .reading import PAGE, one_moment, pages
from .rows import Rows
from .sealed import Sealed, held_against
from .signed import signature_faults
from .states import state_faults


def verify(*, ledger_only: bool = False, start: int = 0, since: Noted | None = None) -> Verified:
    """Hold everything stored against everything else that is known of it.

    ``ledger_only`` leaves out the comparison of rows, words, photos and states; ``start`` begins at that entry
    number and takes stored subtrees before it as they are. It can't see all copies rewritten by whoever owns the
    database and has the key: heads must be noted elsewhere, and ``since`` is one that was.
    """
    with one_moment():
        sealed, rows = Sealed(start), None if ledger_only else Rows()
        entries, bodies = _read_book(sealed, rows, start)
        faults = bodies + sealed.faults
        if since is not None:
            since, broken = held_against(since)
            faults += broken
        if rows is not None:
            faults += rows.finish()
            faults += words_faults()
            faults += signature_faults(faults)
            faults += photo_faults(faults)
            faults += state_faults(records_are_good=not faults)
        absent = triggers.missing(connection)
        faults += [Fault("trigger-missing", _table_of(name), f"{name} is missing or changed.") for name in absent]
        return Verified(
            engine=connection.vendor,
            entries=entries,
            unsealed=sum(entry >= start for entry in sealed.waiting),
            tree=sealed.tree(),
            triggers_due=triggers.due(connection),
            triggers_missing=tuple(absent),
            rows=None if rows is None else rows.compared,
            since=since,
            faults=tuple(dict.fromkeys(faults)),
        )


def _read_book(sealed: Sealed, rows: Rows | None, start: int) -> tuple[int, list[Fault]]:
    """Feed every payload to the tree and to the comparison of rows; how many there were, and those not as hashed."""
    faults, entries, is_last = [], 0, False
    after = start - 1 if start else None
    for page in pages(EntryBody.objects.all(), "pk", "payload", "leaf_hash", after=after):
        window = []
        for entry, payload, leaf_hash in page:
            leaf = bytes(leaf_hash)
            is_true = merkle.leaf_hash(payload.encode()) == leaf
            if not is_true:
                words = "The payload is not the one whose hash stands beside it."
                faults.append(Fault("body-changed", "ledger_entrybody", words, row=entry, entry=entry))
            sealed.take(entry, leaf)
            window.append((entry, payload, is_true))
        entries += len(page)
        is_last = len(page) < PAGE
        if rows is not None:
            rows.compare(window, after=after, upto=None if is_last else page[-1][0])
        after = page[-1][0]
    if rows is not None and not is_last:
        rows.compare([], after=after, upto=None)
    sealed.finish()
    return entries, faults


def _table_of(trigger: str) -> str:
    return trigger.rsplit("_no_", 1)[0] if "_no_" in trigger else ""
