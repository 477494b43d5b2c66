"""State rows as the records give them."""

from __future__ import annotations

from typing import Any

from plant.catalogue.models import Part

from .models import ConsignmentLine, Hold, Item, Loss
from .queries import balances, names_of, whereabouts


def item_states() -> list[dict[str, Any]]:
    """Code, place and amount of every item."""
    items = dict(Item.objects.order_by("pk").values_list("pk", "kind"))
    names, places = names_of(items), whereabouts(items)
    left = set(ConsignmentLine.objects.values_list("item_id", flat=True))
    left |= set(Loss.objects.filter(amount=None).values_list("item_id", flat=True))
    held = set(Hold.objects.values_list("item_id", flat=True))
    amounts = balances(pk for pk, kind in items.items() if kind == Part.Tracked.LOT)
    return [
        {
            "item_id": pk,
            "code": names[pk].code,
            "where": places[pk].state,
            "place_id": places[pk].place,
            "inside_id": places[pk].inside,
            "placed_at": places[pk].placed_at,
            "has_left": pk in left,
            "has_holds": pk in held,
            "remaining": amounts[pk].left if pk in amounts else None,
        }
        for pk in items
    ]
