"""Units here whose carrier is not what their stage asks for: none, an earlier one, or one with another unit's code."""

from __future__ import annotations

from dataclasses import dataclass

from plant.catalogue.carriers import Carrier
from records.items.models import Item
from records.items.queries import HERE

from .carrying import expected, on_now
from .models import UnitCarrier, Waiting


@dataclass(frozen=True)
class Astray:
    """A unit, the carrier that its route asks for by now, and what is on it."""

    unit: Item
    asked: str
    present: UnitCarrier | None

    @property
    def is_mixed_up(self) -> bool:
        """Whether it carries another unit's code."""
        return self.present is not None and not self.present.is_own

    @property
    def due(self) -> str:
        return str(Carrier(self.asked).label)

    @property
    def found(self) -> str:
        """What is on it, in words."""
        if self.present is None:
            return "nothing on file"
        kind = str(Carrier(self.present.kind).label)
        return f"{kind} of {self.present.code}" if self.is_mixed_up else kind


def astray() -> list[Astray]:
    """Units here that are not known as their stage asks, those with another's code first; three queries."""
    here = Waiting.objects.filter(unit__state__where=HERE)
    related = ("unit__state__place__station", "unit__state__place__party", "unit__revision__part")
    units = {row.unit_id: row.unit for row in here.select_related(*related).order_by("since", "pk")}
    asked, present = expected(units), on_now(units)
    rows = [Astray(unit, asked.get(pk, ""), present.get(pk)) for pk, unit in units.items()]
    found = [row for row in rows if row.is_mixed_up or (row.asked and _is_short(row))]
    return sorted(found, key=lambda row: (not row.is_mixed_up, row.present is not None))


def _is_short(row: Astray) -> bool:
    """Whether what is on it is less than its route asks for; a permanent mark is never less."""
    return row.present is None or (row.present.kind != row.asked and row.present.kind != Carrier.MARK)
