"""Proofs from the sealed tree: a few hashes that anybody can check against signed heads.

That an entry stands in the tree, and that the tree of an earlier head is the beginning of today's.
"""

from __future__ import annotations

from dataclasses import dataclass

from . import merkle
from .models import Leaf, TreeHead
from .refusals import Refused
from .sealing import stack_of


@dataclass(frozen=True)
class Proof:
    """Inclusion proof of RFC 9162 2.1.3 for one entry: ``payload`` hashes to the leaf, ``path`` leads to ``root``."""

    entry: int
    payload: str
    index: int
    size: int
    path: tuple[bytes, ...]
    root: bytes

    @property
    def holds(self) -> bool:
        """Whether the payload leads to the root."""
        leaf = merkle.leaf_hash(self.payload.encode())
        return merkle.is_included(leaf, self.index, self.size, self.path, self.root)


def proof_of(entry: int, *, size: int | None = None) -> Proof:
    """Proof that an entry stands in the tree of a signed size, the newest without one.

    Refuses ``not-sealed`` where it does not stand in that tree.
    """
    heads = TreeHead.objects.order_by("-size")
    head = (heads if size is None else heads.filter(size=size)).first()
    leaf = Leaf.objects.select_related("entry__body").filter(entry=entry, index__lt=head.size if head else 0).first()
    if head is None or leaf is None:
        raise Refused("not-sealed", "Entry %(entry)s stands in no sealed tree of this size yet.", entry=entry)
    path = tuple(stack_of(*span).root() for span in siblings(leaf.index, head.size))
    return Proof(entry, leaf.entry.body.payload, leaf.index, head.size, path, bytes(head.root))


@dataclass(frozen=True)
class Consistency:
    """Proof of RFC 9162 2.1.4 that the tree of ``size`` leaves begins with one that was noted: ``old`` leaves."""

    old: int
    old_root: bytes
    size: int
    root: bytes
    path: tuple[bytes, ...]

    @property
    def holds(self) -> bool:
        """Whether the path leads from the root noted to the newer one."""
        return merkle.is_consistent(self.old, self.size, self.path, self.old_root, self.root)


def consistency_with(old: int, old_root: bytes) -> Consistency:
    """Proof that the newest signed tree begins with the one of a head noted elsewhere, as far as it does.

    Refuses ``not-sealed`` where the newest tree is smaller.
    """
    head = TreeHead.objects.order_by("-size").first()
    if head is None or head.size < old:
        words = "The head noted is over %(old)s leaves, the newest here over %(size)s."
        raise Refused("not-sealed", words, old=f"{old:,}", size=f"{head.size if head else 0:,}")
    path = tuple(stack_of(*span).root() for span in merkle.consistency_spans(old, head.size))
    return Consistency(old, old_root, head.size, bytes(head.root), path)


def siblings(index: int, size: int) -> list[tuple[int, int]]:
    """Spans of leaves whose roots are the proof of a leaf, from the leaf up."""
    start, stop, spans = 0, size, []
    while stop - start > 1:
        middle = start + merkle.split(stop - start)
        if index < middle:
            spans.append((middle, stop))
            stop = middle
        else:
            spans.append((start, middle))
            start = middle
    return spans[::-1]
