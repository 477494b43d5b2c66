"""Verification against the least that any verification must do.

Leaves, tree and signatures: hashing the same payloads and the nodes above them, all in memory. Rows: reading the same
rows and parsing the payloads.
"""

import json
from functools import partial
from hashlib import sha256

from django.db import models

from records.inspection.models import Measurement
from records.items.models import Evidence, Move
from records.ledger import merkle
from records.ledger.acts import payload_of
from records.ledger.models import Entry, EntryBody
from records.ledger.patterns import Fact
from records.ledger.sealing import seal_all
from records.ledger.triggers import record_models
from records.ledger.verifying import verify
from records.ledger.verifying.reading import pages
from records.ledger.verifying.rows import Rows
from records.steps.models import StepReading
from tests.bench.measuring import Row, row_of_pairs, seconds_in_turn
from tests.records.ledger.filling import Filler

KINDS = (Move, Evidence, StepReading, Measurement)


def bench(*, tiny: bool) -> list[Row]:
    """Both comparisons over a book of entries with four rows each, sealed in batches as the worker does."""
    filler = Filler()
    filler.fill()
    many_entries(filler, 10 if tiny else 10_000)
    seal_all()
    payloads = [text.encode() for text in EntryBody.objects.order_by("pk").values_list("payload", flat=True)]
    assert verify(ledger_only=True).clean
    in_turn = partial(seconds_in_turn, repetitions=1 if tiny else 7)
    tree = in_turn(lambda: verify(ledger_only=True), lambda: hashed(payloads))
    rows = in_turn(compared, read_and_parsed)
    return [
        row_of_pairs("verify, leaves, tree, signatures", tree, "s", "<= 6"),
        row_of_pairs("verify, rows", rows, "s", "<= 3"),
    ]


def many_entries(filler: Filler, count: int) -> None:
    """Entries with one row of each kind, as acts would have written them."""
    for start in range(0, count, 1000):
        entries = [filler.entry() for _ in range(min(1000, count - start))]
        Entry.objects.bulk_create(entries)
        written: dict[int, list[Fact]] = {entry.pk: [] for entry in entries}
        for model in KINDS:
            rows = [filler.row(model, entry=entry) for entry in entries]
            for row in model._base_manager.bulk_create(rows):
                written[row.entry_id].append(row)
        bodies = []
        for entry in entries:
            payload = payload_of(entry, written[entry.pk])
            bodies.append(EntryBody(entry=entry, payload=payload.decode(), leaf_hash=merkle.leaf_hash(payload)))
        EntryBody.objects.bulk_create(bodies)


def hashed(payloads: list[bytes]) -> bytes:
    """Root over payloads, level by level: whole pairs are hashed, what is left over goes up as it is."""
    level = [sha256(b"\x00" + payload).digest() for payload in payloads]
    while len(level) > 1:
        pairs = [sha256(b"\x01" + level[n] + level[n + 1]).digest() for n in range(0, len(level) - 1, 2)]
        level = pairs + level[len(pairs) * 2 :]
    return level[0]


def compared() -> None:
    """Every payload against every row, without the tree."""
    rows, after = Rows(), None
    for page in pages(EntryBody.objects.all(), "pk", "payload"):
        rows.compare([(entry, text, True) for entry, text in page], after=after, upto=page[-1][0])
        after = page[-1][0]
    assert rows.finish() == []


def read_and_parsed() -> None:
    """The same payloads parsed and the same rows read, and nothing done with them."""
    after = None
    for page in pages(EntryBody.objects.all(), "pk", "payload"):
        for _, text in page:
            json.loads(text)
        window = {"gt": after or 0, "lte": page[-1][0]}
        _read(Entry, "pk", window)
        for model in record_models():
            if issubclass(model, Fact):
                _read(model, "entry_id", window)
        after = page[-1][0]


def _read(model: type[models.Model], column: str, window: dict[str, int]) -> None:
    between = {f"{column}__{bound}": number for bound, number in window.items()}
    list(model._base_manager.filter(**between).values_list(*[f.attname for f in model._meta.concrete_fields]))
