"""What a person fills in where a carrier of a unit is put on, is gone, or either was a mistake."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpRequest

from plant.catalogue.carriers import Carrier
from plant.people.acting import ActForm, one_of
from plant.templatetags.showing import when
from records.items.reasons import reason_words

from .actions.carriers import PUT, PUT_ON, WHY
from .models import UnitCarrier

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


class CarrierBackForm(ActForm):
    """What was told of a unit's carriers by mistake, and why it is taken back."""

    act = "entry withdrawn"

    which = forms.ChoiceField(widget=forms.RadioSelect, label="What was told by mistake")
    words = forms.CharField(
        max_length=400,
        label="Why it is taken back",
        help_text="What carried it before carries it again.",
        widget=forms.Textarea({"rows": 3}),
    )

    def __init__(self, request: HttpRequest, told: list[UnitCarrier]) -> None:
        super().__init__(request)
        self.fields["which"].choices = [(row.entry.key, _in_words(row)) for row in told]  # type: ignore[attr-defined]


def _in_words(row: UnitCarrier) -> str:
    what = f"{Carrier(row.kind).label} {row.code}{f', label {row.copy}' if row.copy else ''}"
    did = "put on" if row.entry.kind == PUT else "gone"
    return f"{what[:1].upper()}{what[1:]}: {did} {when(row.entry.happened_at)}, told by {row.entry.by.name}"
