"""Fixtures of the book."""

import pytest

from records.ledger import merkle
from records.ledger.models import Entry, EntryBody
from tests.records.ledger.book import MANY, taken


@pytest.fixture
def many_entries():
    """Entries whose leaf hashes all differ."""
    first = taken(1, 0)
    copies = [
        Entry(pk=n, key=f"{n:032x}", kind="none", by=first.by, made_at=first.made_at, happened_at=first.made_at,
              taken_at=first.made_at, asked=b"")
        for n in range(2, MANY + 1)
    ]  # fmt: skip
    Entry.objects.bulk_create(copies)
    EntryBody.objects.bulk_create(
        [EntryBody(entry=e, payload=str(e.pk), leaf_hash=merkle.leaf_hash(str(e.pk).encode())) for e in copies]
    )
