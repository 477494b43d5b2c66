"""Sealing: entries that have no leaf get the next places in the tree, and its root is signed.

The worker seals in batches, so writers never wait for each other. The place of a leaf is the order of sealing, not of
entry numbers: an entry that commits late takes a later place.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.db import IntegrityError, connection, transaction
from django.db.models import Max

from . import merkle
from .canonical import canonical
from .clock import clock
from .marks import LATE_WINDOW
from .models import Entry, EntryBody, Leaf, Node, TreeHead
from .signing import key_id, signing_key

SUBTREE = 256
LEVELS = (8, 16, 24)
BATCH = 5000
# Any fixed number: it names the sealer's advisory lock on PostgreSQL.
SEALER_LOCK = 0x5EA1


def head_message(size: int, root: bytes, signed_at: object) -> bytes:
    """What a tree head's signature covers."""
    return canonical({"size": size, "root": root, "signed_at": signed_at})


def stack_upto(size: int) -> merkle.Stack:
    """Running root over the first ``size`` leaves, from stored subtrees and the leaves after them."""
    stack = merkle.Stack()
    for level in reversed(LEVELS):
        width = 1 << level
        first, last = stack.size // width, size // width
        nodes = Node.objects.filter(level=level, index__gte=first, index__lt=last).order_by("index")
        for node in nodes.values_list("hash", flat=True):
            stack.add(bytes(node), width)
    for leaf in leaf_hashes(stack.size, size):
        stack.add(leaf)
    return stack


def leaf_hashes(start: int, stop: int) -> Iterator[bytes]:
    """Hashes of the leaves from ``start`` up to ``stop``."""
    rows = EntryBody.objects.filter(entry__leaf__index__gte=start, entry__leaf__index__lt=stop)
    for value in rows.order_by("entry__leaf__index").values_list("leaf_hash", flat=True).iterator():
        yield bytes(value)


def _store_subtrees(old_size: int, size: int) -> None:
    """Write the roots of subtrees that are whole with the leaves up to ``size``."""
    for level in LEVELS:
        width = 1 << level
        for index in range(old_size // width, size // width):
            stack = merkle.Stack()
            if level == LEVELS[0]:
                parts, part_width = leaf_hashes(index * width, (index + 1) * width), 1
            else:
                below = Node.objects.filter(
                    level=level - 8, index__gte=index * SUBTREE, index__lt=(index + 1) * SUBTREE
                )
                parts = (bytes(h) for h in below.order_by("index").values_list("hash", flat=True))
                part_width = width // SUBTREE
            for part in parts:
                stack.add(part, part_width)
            Node.objects.create(level=level, index=index, hash=stack.root())


def seal(batch: int = BATCH) -> int:
    """Seal up to ``batch`` waiting entries; the number sealed. Two sealers at once: one of them seals nothing."""
    try:
        with transaction.atomic():
            if not _lock():
                return 0
            return _seal(batch)
    except IntegrityError:
        return 0


def seal_all() -> int:
    """Seal whatever waits."""
    total = 0
    while sealed := seal():
        total += sealed
    return total


def low_water() -> int:
    """Entry number below which nothing can be waiting.

    An act ends within a minute, so what was numbered by a head two minutes before the last one was there for the last.
    """
    last = TreeHead.objects.aggregate(at=Max("signed_at"))["at"]
    if last is None:
        return 0
    return TreeHead.objects.filter(signed_at__lt=last - LATE_WINDOW).aggregate(top=Max("upto"))["top"] or 0


def _lock() -> bool:
    if connection.vendor != "postgresql":
        return True  # an IMMEDIATE transaction is the only writer
    with connection.cursor() as cursor:
        cursor.execute("select pg_try_advisory_xact_lock(%s)", [SEALER_LOCK])
        return bool(cursor.fetchone()[0])


def _seal(batch: int) -> int:
    unsealed = Entry.objects.filter(leaf=None, body__isnull=False, pk__gt=low_water())
    waiting = list(unsealed.order_by("pk").values_list("pk", flat=True)[:batch])
    if not waiting:
        return 0
    top = Leaf.objects.aggregate(top=Max("index"))["top"]
    old_size = 0 if top is None else top + 1
    size = old_size + len(waiting)
    Leaf.objects.bulk_create([Leaf(index=old_size + n, entry_id=number) for n, number in enumerate(waiting)])
    _store_subtrees(old_size, size)
    root = stack_upto(size).root()
    before = TreeHead.objects.aggregate(top=Max("upto"))["top"] or 0
    signed_at = clock.now()
    key = signing_key()
    TreeHead.objects.create(
        size=size,
        root=root,
        upto=max(before, waiting[-1]),
        signed_at=signed_at,
        key_id=key_id(key.public_key()),
        signature=key.sign(head_message(size, root, signed_at)),
    )
    return len(waiting)
