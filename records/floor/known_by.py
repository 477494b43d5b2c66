"""What a tablet takes along of labels and carriers: what each unit here is known by and was, and what was reprinted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.db.models import Max, Q

from plant.catalogue.carriers import Carrier
from plant.catalogue.models import Part
from records.items.queries import HERE
from records.release.models import LabelPrint
from records.release.queries import let_go
from records.steps.carrying import carriers_of
from records.steps.models import UnitCarrier

# Of one unit so many carriers that ended, and of all things on the floor so many reprinted labels, the newest first:
# each is 30 bytes of a snapshot at most. A choice of this project.
MOST_ENDED, MOST_REPRINTED = 4, 1_000


def known_by(units: Iterable[int]) -> dict[int, dict[str, Any]]:
    """For each unit what carries its code, the carriers of its own that ended, and whether it is released; two queries.

    Each carrier is told as kind, code and number of the label, 0 where it bears none.
    """
    wanted = list(units)
    found: dict[int, dict[str, Any]] = defaultdict(dict)
    ended: dict[int, list[list[str | int]]] = defaultdict(list)
    for row in carriers_of(wanted):
        if row.is_on:
            found[row.unit_id]["carrier"] = _told(row)
        elif row.is_own and row.kind != Carrier.TOOL:
            ended[row.unit_id].append(_told(row))
    for unit, rows in ended.items():
        present = found[unit].get("carrier", ["", "", 0])
        old = [row for row in rows if row[1:] != present[1:]]
        if old:
            found[unit]["ended"] = old[-MOST_ENDED:]
    for unit in let_go(wanted):
        found[unit]["released"] = True
    return found


def _told(row: UnitCarrier) -> list[str | int]:
    return [row.kind, row.code, row.copy or 0]


def reprinted() -> dict[str, int]:
    """The newest label of what is on the floor and had more than one, by its code."""
    on_floor = Q(item_code__item__kind=Part.Tracked.UNIT) | Q(item_code__item__state__remaining__gt=0)
    prints = LabelPrint.objects.filter(on_floor, copy__gt=1, item_code__item__state__where=HERE)
    newest = prints.values("item_code__code").annotate(newest=Max("copy"), last=Max("pk")).order_by("-last")
    return dict(newest.values_list("item_code__code", "newest")[:MOST_REPRINTED])
