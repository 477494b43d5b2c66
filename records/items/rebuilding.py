"""State rows as the records give them."""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.db.models import Max, QuerySet
from django.db.models.functions import Left

from plant import codes
from plant.catalogue.models import Part

from .models import ConsignmentLine, Hold, HouseCodeField, Item, ItemCode, Loss
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


def code_counters() -> list[dict[str, Any]]:
    """The last number of each series among the codes that the house made, in whichever room."""
    last: dict[str, int] = {}
    for rows, column in _codes_made():
        # Codes of a series are equally long, so the highest number is the last by its text.
        for code in rows.values(series=Left(column, 5)).annotate(highest=Max(column)).values_list("highest", flat=True):
            series, number = codes.series_and_number(code)
            last[series] = max(number, last.get(series, 0))
    return [{"series": series, "number": number} for series, number in last.items()]


def _codes_made() -> list[tuple[QuerySet, str]]:
    """Rows whose codes the house made, and the column that holds them."""
    made: list[tuple[QuerySet, str]] = [(ItemCode.objects.filter(why=ItemCode.Why.HOUSE), "code")]
    for model in apps.get_models():
        made += [
            (model._base_manager.all(), field.name)
            for field in model._meta.local_concrete_fields
            if isinstance(field, HouseCodeField)
        ]
    return made
