"""What went into an item, near things first, each with what a person must know of it."""

from __future__ import annotations

from dataclasses import dataclass

from plant.catalogue.models import Part
from records.items.models import Item, LotDecision

from .labelling import POSSIBLE
from .queries import Found, made_from

_ORDER = {kind: n for n, kind in enumerate(reversed(Part.Kind.values))}


@dataclass(frozen=True)
class Content:
    """One thing that went in: ``state`` is the worst that is known of it, empty where there is nothing to say."""

    found: Found
    kind: str
    state: str

    @property
    def is_near(self) -> bool:
        """Whether it was put into the item itself, not into something that went in."""
        return len(self.found.way) == 2

    @property
    def by_way_of(self) -> tuple[str, ...]:
        return self.found.between


def content_of(item: Item) -> list[Content]:
    """Everything that an item is made from, those put into it first; ten queries or so whatever their number."""
    found = made_from(item.code).listed
    decided = newest_decisions([one.item for one in found])
    rows = [Content(one, str(Part.Kind(one.kind).label), _state(one, decided.get(one.item))) for one in found]
    return sorted(rows, key=lambda row: (not row.is_near, _ORDER[row.found.kind], row.found.code))


def newest_decisions(lots: list[int]) -> dict[int, str]:
    """The newest decision on each lot, one query."""
    rows = LotDecision.objects.filter(item_id__in=lots).order_by("at", "pk")
    return dict(rows.values_list("item_id", "decision"))


def _state(found: Found, decision: str | None) -> str:
    if found.held:
        return "held"
    if found.cls == POSSIBLE:
        return "possible"
    return decision or ""
