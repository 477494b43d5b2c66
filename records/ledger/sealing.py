"""Sealing: entries that have no leaf get the next places in the tree, and its root is signed.

The worker seals in batches, so writers never wait for each other. The place of a leaf is the order of sealing, not of
entry numbers: an entry that commits late takes a later place.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.db import transaction
from django.db.models import Max

from . import merkle
from .canonical import canonical
from .clock import clock
from .keys import key_in_force
from .locking import try_to_lock_sealing
from .marks import low_water, span_lived_twice
from .models import Entry, EntryBody, Leaf, Node, TreeHead
from .signing import key_id, raw

LEVELS = (8, 16, 24)
# Widths of the subtrees whose roots are kept.
KEPT = sum(1 << level for level in LEVELS)
BATCH = 5000


def head_message(head: TreeHead) -> bytes:
    """What a tree head's signature covers."""
    content: dict[str, object] = {"size": head.size, "root": head.root, "before": head.before, "upto": head.upto}
    if head.back_from is not None or head.back_to is not None:
        content |= {"back_from": head.back_from, "back_to": head.back_to}
    return canonical(content | {"signed_at": head.signed_at})


def stack_upto(size: int) -> merkle.Stack:
    """Running root over the first ``size`` leaves, from stored subtrees and the leaves after them."""
    return stack_of(0, size)


def stack_of(start: int, stop: int) -> merkle.Stack:
    """Running root over the leaves from ``start`` up to ``stop``, from stored subtrees where they begin and end so."""
    stack = merkle.Stack(KEPT)
    for level in reversed(LEVELS):
        width = 1 << level
        if start % width:
            continue
        first, last = (start + stack.size) // width, stop // width
        nodes = Node.objects.filter(level=level, index__gte=first, index__lt=last).order_by("index")
        for node in nodes.values_list("hash", flat=True):
            stack.add(bytes(node), width)
    for leaf in leaf_hashes(start + stack.size, stop):
        stack.add(leaf)
    stack.whole.clear()
    return stack


def leaf_hashes(start: int, stop: int) -> Iterator[bytes]:
    """Hashes of the leaves from ``start`` up to ``stop``."""
    rows = EntryBody.objects.filter(entry__leaf__index__gte=start, entry__leaf__index__lt=stop)
    for value in rows.order_by("entry__leaf__index").values_list("leaf_hash", flat=True).iterator():
        yield bytes(value)


def seal(batch: int = BATCH) -> int:
    """Seal up to ``batch`` waiting entries; the number sealed. Two sealers at once: one of them seals nothing.

    Refuses where the key that signs is not on this machine; the entries wait.
    """
    with transaction.atomic():
        return _seal(batch) if try_to_lock_sealing() else 0


def seal_all() -> int:
    """Seal whatever waits."""
    total = 0
    while sealed := seal():
        total += sealed
    return total


def _seal(batch: int) -> int:
    unsealed = Entry.objects.filter(leaf=None, body__isnull=False, pk__gt=low_water())
    waiting = list(unsealed.order_by("pk").values_list("pk", flat=True)[:batch])
    if not waiting:
        return 0
    top = Leaf.objects.aggregate(top=Max("index"))["top"]
    old_size = 0 if top is None else top + 1
    Leaf.objects.bulk_create([Leaf(index=old_size + n, entry_id=number) for n, number in enumerate(waiting)])
    stack = stack_upto(old_size)
    for leaf in leaf_hashes(old_size, old_size + len(waiting)):
        stack.add(leaf)
    Node.objects.bulk_create(
        [Node(level=width.bit_length() - 1, index=index, hash=root) for width, index, root in stack.whole]
    )
    last = TreeHead.objects.order_by("-size").first()
    before, upto = (last.size, last.upto) if last else (0, 0)
    head = TreeHead(size=stack.size, root=stack.root(), before=before, upto=max(upto, waiting[-1]))
    head.back_from, head.back_to = span_lived_twice(waiting[0], head.upto) or (None, None)
    _sign(head)
    return len(waiting)


def _sign(head: TreeHead) -> None:
    key = key_in_force()
    head.signed_at, head.key_id = clock.now(), key_id(raw(key.public_key()))
    head.signature = key.sign(head_message(head))
    head.save(force_insert=True)
