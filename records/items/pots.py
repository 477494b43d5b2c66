"""Pots that stand about: how long each may still be used, and how much is left in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from plant.catalogue.models import Part

from .models import Item

# So long after its end a pot that is not empty is still told of: it gets hot. A choice of this project, no source.
STILL_TOLD = timedelta(minutes=30)


@dataclass(frozen=True)
class Pot:
    """A mixed pot with something left by the records. [steps of its part's unit]"""

    item: Item
    began_at: datetime
    ends_at: datetime
    left: int

    @property
    def code(self) -> str:
        return self.item.code

    def minutes_left(self, at: datetime) -> int:
        """Whole minutes that it may still be used; below nought once it has ended."""
        return int((self.ends_at - at).total_seconds() // 60)


def standing_pots(at: datetime, *, ended: bool = True) -> list[Pot]:
    """Pots with something left at a moment, those that end first ahead; ``ended`` ones for a while too."""
    since = at - STILL_TOLD if ended else at
    rows = Item.objects.filter(
        kind=Part.Tracked.LOT, good_until__gte=since, born_at__lte=at, state__remaining__gt=0
    ).select_related("state", "revision__part")
    found = [Pot(item, item.born_at, item.good_until, item.state.remaining or 0) for item in rows if item.good_until]
    return sorted(found, key=lambda pot: (pot.ends_at, pot.item.pk))
