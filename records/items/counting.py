"""Counts as their pages tell them: what lies at a place, and what was counted beside what the records said."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from plant.catalogue.models import Part
from plant.quantities import print_amount

from .models import Item, Place, StockCount


@dataclass(frozen=True)
class CountRow:
    """A count in the list. [steps of the part]"""

    pk: int
    code: str
    part: Part
    counted: int
    expected: int
    by: str
    at: datetime
    why: str
    words: str
    scale: str = ""

    @property
    def difference(self) -> int:
        return self.counted - self.expected

    @property
    def waits(self) -> bool:
        """Whether nobody has said yet why it differs."""
        return bool(self.difference) and not self.why

    @property
    def difference_words(self) -> str:
        """How far off, in words."""
        if not self.difference:
            return "none"
        amount = print_amount(abs(self.difference), self.part.unit, self.part.unit_kind)
        return f"{amount} {'more' if self.difference > 0 else 'less'}"


def count_rows() -> list[CountRow]:
    """Every count, those first that nobody has explained, then the latest; one query."""
    counts = StockCount.objects.select_related(
        "item__state", "item__revision__part", "entry__by__name_words", "explained__words", "scale"
    ).order_by("-at", "-pk")
    return sorted((_row(count) for count in counts), key=lambda row: not row.waits)


def _row(count: StockCount) -> CountRow:
    reason = getattr(count, "explained", None)
    return CountRow(
        count.pk,
        count.item.code,
        count.item.part,
        count.counted,
        count.expected,
        count.entry.by.name,
        count.at,
        reason.get_why_display() if reason else "",
        str(reason.words or "") if reason else "",
        count.scale.code if count.scale else "",
    )


NO_PLACE = "0"


def places_with_lots() -> dict[str, str]:
    """Places at which a lot lies with something left, in words by their key; the last is no place at all."""
    at = _with_something_left().values("state__place")
    places = Place.objects.filter(pk__in=at).select_related("station", "party").order_by("kind", "code", "pk")
    found = {str(place.pk): str(place) for place in places}
    return found | ({NO_PLACE: "no place told"} if _with_something_left().filter(state__place=None).exists() else {})


def lots_at(key: str) -> list[Item]:
    """Lots at a place with something left by the records, by part and code."""
    lots = _with_something_left().filter(state__place=None if key == NO_PLACE else int(key))
    return list(lots.select_related("revision__part", "state").order_by("revision__part__number", "state__code"))


def _with_something_left() -> QuerySet[Item]:
    return Item.objects.filter(kind=Part.Tracked.LOT, state__remaining__gt=0)
