"""Proofs that an entry stands in the sealed tree: a few hashes that anybody can check against a signed head."""

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
