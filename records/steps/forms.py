"""What a person fills in where a carrier of a unit is put on, or is gone."""

from __future__ import annotations

from typing import Any

from django import forms

from plant.catalogue.carriers import Carrier
from plant.people.acting import ActForm, one_of
from records.items.reasons import reason_words

from .actions.carriers import PUT_ON, WHY

REASONS = [(code, reason_words(code).capitalize()) for code in WHY]


class CarrierForm(ActForm):
    """What was put on a unit, read back from it; why, where it takes the place of one of its kind."""

    act = "carrier put on"

    carrier = one_of([(kind, Carrier(kind).label) for kind in PUT_ON], "What was put on")
    symbol = forms.CharField(
        max_length=400,
        label="Scan it on the unit, or type what stands on it",
        widget=forms.TextInput({"autocomplete": "off", "spellcheck": "false"}),
        strip=False,
    )
    reason = forms.ChoiceField(
        choices=[("", "It is the first of its kind"), *REASONS], required=False, label="Why another one is put on"
    )

    def told(self) -> dict[str, Any]:
        """The arguments of the act."""
        told = self.cleaned_data
        return {"kind": told["carrier"], "symbol": told["symbol"], "reason": told["reason"]}


class CarrierOffForm(ActForm):
    """Why nothing carries the code of a unit any more."""

    act = "carrier taken off"

    reason = one_of(REASONS, "What became of it")
