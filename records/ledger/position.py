"""The position in the ledger that a paper rests on: the last entry known, and the sealed tree that holds them all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max

from .marks import Mark, low_water
from .models import Entry, Leaf, TreeHead


@dataclass(frozen=True)
class Position:
    """Entries up to a number, when the last was taken, and the smallest signed tree that holds all of them.

    ``size`` and ``root`` are those of the last signed tree where some entries still wait for their place in one.
    """

    upto: int
    taken_at: datetime | None
    size: int
    root: str
    waiting: int

    @property
    def is_sealed(self) -> bool:
        return self.waiting == 0


def mark_of_now() -> Mark:
    """Mark of everything on file: what is made under it stays as it is when entries follow."""
    return Mark(Entry.objects.aggregate(top=Max("pk"))["top"] or 0)


def position_of(mark: Mark) -> Position:
    """Position of a mark; it changes once, when the last of its entries gets its place in the tree."""
    known = Entry.objects.filter(mark.known("pk"))
    last = known.order_by("-pk").values_list("pk", "taken_at").first()
    waiting = known.filter(leaf=None, body__isnull=False, pk__gt=low_water()).count()
    head = _head(mark) if not waiting else TreeHead.objects.order_by("-size").first()
    return Position(
        upto=last[0] if last else 0,
        taken_at=last[1] if last else None,
        size=head.size if head else 0,
        root=bytes(head.root).hex() if head else "",
        waiting=waiting,
    )


def _head(mark: Mark) -> TreeHead | None:
    """The smallest signed tree that holds every entry known at a mark."""
    head = TreeHead.objects.filter(upto__gte=mark.upto).order_by("size").first()
    if head is None:
        return None
    # An entry that was committed late stands in a later tree than its number says.
    late = Leaf.objects.filter(mark.known("entry_id"), index__gte=head.size).aggregate(top=Max("index"))["top"]
    return head if late is None else TreeHead.objects.filter(size__gt=late).order_by("size").first()
