"""Amounts of a delivery that are surely slips of the hand: asked about before they are booked in, never refused.

A choice of this project, no source: kilograms for grams is a thousand times, tonnes for kilograms too; a works' own
deliveries of a part seldom differ by twenty times.
"""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import Max, Min

from plant.catalogue.models import Part
from plant.quantities import UNITS, Quantity, print_amount

from .models import Item, Receipt

MUCH_MORE, MUCH_LESS = 20, 100
# More than this of a part that never came before. [steps]
MUCH_AT_FIRST = {"mass": 2 * UNITS["mass"]["t"], "count": 100_000}


def why_unlikely(part: Part, amount: Quantity, but: Item | None = None) -> str:
    """Why an amount of a delivery is looked at once more, as a sentence; nothing for a likely one.

    ``but`` is a lot whose own delivery does not count.
    """
    if amount.unit_kind != part.unit_kind or amount.steps <= 0:
        return ""
    before = Receipt.objects.standing().filter(item__revision__part=part).exclude(item=but)
    found = before.aggregate(most=Max("amount"), least=Min("amount"))
    most, least = found["most"], found["least"]
    said = f"{amount.written or print_amount(amount.steps, part.unit, part.unit_kind)} of {part.number}"
    if most is None:
        first = MUCH_AT_FIRST.get(part.unit_kind)
        return f"{said} is a great deal for a first delivery." if first and amount.steps > first else ""
    if amount.steps > most * MUCH_MORE:
        return f"{said} is far more than ever came: {print_amount(most, part.unit, part.unit_kind)} at most so far."
    if amount.steps * MUCH_LESS < least:
        return f"{said} is far less than ever came: {print_amount(least, part.unit, part.unit_kind)} at least so far."
    return ""


class SureField(forms.BooleanField):
    """A tick that is asked for once an amount looks like a slip; until then nobody sees it."""

    def __init__(self) -> None:
        super().__init__(required=False, label="The amount is right as it is written", widget=forms.HiddenInput)


def ask_unlikely(form: forms.Form, told: dict[str, Any], part: Part, but: Item | None = None) -> None:
    """Ask in ``sure`` about an amount that looks like a slip."""
    why = why_unlikely(part, told["amount"], but)
    if not why:
        return
    form.fields["sure"].widget = forms.CheckboxInput()
    if not told.get("sure"):
        form.add_error("sure", f"{why} Read the delivery note again. Tick this where it is so; else write it anew.")
