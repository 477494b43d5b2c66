"""Forms of what is done to a unit outside a step of its route: something out, something in, a coupon, a new number."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.http import HttpRequest

from plant.catalogue.models import Part
from plant.equipment.models import Station
from plant.people.acting import ActForm, one_of
from plant.people.beside import BesideForm

from .code_fields import NewCodeField, ScannedField
from .forms import PartField, QuantityField
from .lot_forms import REASON, TellingForm
from .making import Input
from .models import Item
from .queries import find_item
from .right_forms import PartOnLabelField, ask_beside


class StationField(forms.ModelChoiceField):
    """A station or shelf, by its code."""

    def __init__(self, label: str, *, required: bool = False) -> None:
        super().__init__(Station.objects.none(), to_field_name="code", label=label, required=required)


def _stations(form: forms.Form) -> None:
    form.fields["station"].queryset = Station.objects.order_by("name", "code")  # type: ignore[attr-defined]


class AtStationForm(TellingForm):
    """An act that may have been done already, at a station."""

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        _stations(self)

    @property
    def station_code(self) -> str:
        """Code of the station; empty where none is told."""
        station: Station | None = self.cleaned_data["station"]
        return station.code if station else ""


class TakeOutForm(AtStationForm, BesideForm):
    """Something comes out of a unit, in rework; the second person is asked for where one must sign."""

    act = "unit taken out"

    item = one_of((), "What comes out")
    station = StationField("Where it is put")
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="Why", help_text=REASON)

    def __init__(self, request: HttpRequest, inside: Sequence[Item], *, needs_second: bool) -> None:
        super().__init__(request)
        ask_beside(self, needs_second=needs_second)
        told = [(item.code, f"{item.code}, {item.part.get_kind_display()} {item.part.number}") for item in inside]
        self.fields["item"].choices = told  # type: ignore[attr-defined]


class PutInForm(AtStationForm):
    """A unit, or an amount of a lot, goes into a unit, in rework."""

    act = "unit put in"

    item = ScannedField("What goes in")
    amount = QuantityField(required=False, label="How much", hint="Of a lot, with its unit: 30 g. Empty for a unit.")
    station = StationField("Where it is done")
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="Why", help_text=REASON)
    part = PartOnLabelField()

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        self.order_fields(["item", "amount", "words", "station", "done", "when", "part"])

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        found = find_item(told["item"]) if told.get("item") else None
        is_unit = found is not None and found.kind == Part.Tracked.UNIT
        if is_unit and told.get("amount"):
            self.add_error("amount", f"{found} is a unit and goes in whole. Leave the amount empty.")
        if not is_unit and told.get("item") and not told.get("amount") and "amount" not in self.errors:
            self.add_error("amount", "Write how much of the lot went in, with its unit.")
        return told

    def goes_in(self) -> dict[str, Any]:
        """What goes in, as the act takes it: a unit by its code, or an amount of a lot."""
        told = self.cleaned_data
        if told["amount"] is None:
            return {"item": told["item"]}
        return {"lot": Input(told["item"], told["amount"], part=told["part"])}


class CouponForm(AtStationForm):
    """A coupon cut from a unit. Without a code the house makes one."""

    act = "coupon cut"

    part = PartField(label="What is cut")
    code = NewCodeField()
    station = StationField("Where it is put")

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        coupons = Part.objects.filter(kind=Part.Kind.COUPON).order_by("number")
        self.fields["part"].queryset = coupons  # type: ignore[attr-defined]


class RenumberForm(ActForm):
    """A unit gets another number; every old one still finds it."""

    act = "renumbered"

    to = NewCodeField("Its new number", "Scan the new label, or type what is on it.", required=True)
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="Why", help_text=REASON)


class ReturnForm(ActForm):
    """A frame that comes back from whoever has it, with what they say of it."""

    act = "frame returned"

    station = StationField("Where it is put", required=True)
    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}),
        label="What they say of it",
        help_text="Without names: the auditor will read it.",
    )

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        _stations(self)
