"""What is used at risk: until when and how much more, of lots that were released so and of what was cut off them."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from plant.catalogue.models import Part
from plant.quantities import print_amount
from plant.speaking import say
from plant.templatetags.showing import when

from .clearing import at_risk, taken_of
from .locking import deliveries_of
from .models import Item, LotDecision
from .shelf import mothers_among


@dataclass(frozen=True)
class Risk:
    """Until when, how much at most, and how much more may be used of a lot. [steps of its part's unit]

    ``free`` is none of what was split off: that counts as taken.
    """

    lot: Item
    since: datetime
    until: datetime
    limit: int
    free: int | None

    @property
    def left(self) -> str:
        """How much more may be used, as people write it; empty where that is no question."""
        part = self.lot.part
        return "" if self.free is None else print_amount(max(self.free, 0), part.unit, part.unit_kind)

    def words(self) -> str:
        """The sentence, in the language in use; ``risks.js`` says the same."""
        told = {"code": self.lot.code, "until": when(self.until), "left": self.left}
        if self.left:
            return say("%(code)s is released at risk until %(until)s, for %(left)s more.", **told)
        return say("%(code)s is released at risk until %(until)s.", **told)


def risk_of(lot: Item) -> Risk | None:
    """The risk at which a lot is used; none where it is not. One query where nothing is at risk."""
    return next(iter(_risks([lot], at_risk())), None)


def risks_here() -> list[Risk]:
    """Lots that are used at risk: those released so, and with something left what was cut off them.

    One query where there is none.
    """
    released = at_risk()
    if not released:
        return []
    wanted = Q(state__remaining__gt=0) | Q(pk__in=[row.item_id for row in released])
    lots = Item.objects.filter(wanted, kind=Part.Tracked.LOT, good_until=None)
    return list(_risks(list(lots.select_related("revision__part", "state__place__station").order_by("pk")), released))


def _risks(lots: Collection[Item], decisions: Iterable[LotDecision]) -> Iterable[Risk]:
    """The risk of each lot among them; of several releases the one that ends first counts."""
    released = {row.item_id: row for row in decisions}
    if not released:
        return
    mothers = mothers_among([lot for lot in lots if lot.origin == Item.Origin.MADE and lot.good_until is None])
    deliveries, taken = deliveries_of([lot.pk for lot in lots]), dict[int, int]()
    for lot in lots:
        behind = [released[number] for number in (lot.pk, *mothers.get(lot.pk, ())) if number in released]
        ends = [(row.limit_until, row.limit_amount, row) for row in behind if row.limit_until and row.limit_amount]
        if not ends:
            continue
        until, limit, first = min(ends, key=lambda one: one[0])
        counts = first.item_id in (lot.pk, deliveries.get(lot.pk))
        if counts and first.item_id not in taken:
            taken[first.item_id] = taken_of(first.item)
        yield Risk(lot, first.at, until, limit, limit - taken[first.item_id] if counts else None)
