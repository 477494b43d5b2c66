"""Forms of the stores: shape only; the rules of the works live in the actions."""

from __future__ import annotations

from typing import Any

from django import forms

from plant.catalogue.models import Part
from plant.equipment.models import Station
from plant.people.acting import ActForm
from plant.quantities import Quantity, read_quantity
from records.ledger.refusals import Refused

from .actions.stores import Delivery


class QuantityField(forms.CharField):
    """An amount as written, with its unit."""

    def clean(self, value: Any) -> Quantity:
        try:
            return read_quantity(super().clean(value))
        except Refused as refused:
            raise forms.ValidationError(str(refused)) from refused


class ReceiveForm(ActForm):
    """What came, from whom, how much, and how long it is good. Without a code the house makes one."""

    act = "lot received"

    part = forms.ModelChoiceField(Part.objects.none(), to_field_name="number", label="What it is")
    amount = QuantityField(label="How much came", help_text="With its unit: 20 kg, 60 pcs.")
    supplier = forms.CharField(max_length=80, label="From whom")
    supplier_lot = forms.CharField(max_length=80, required=False, label="Lot on their label")
    expires_on = forms.DateField(required=False, label="Last good day", help_text="As 2026-12-31.")
    code = forms.CharField(max_length=40, required=False, label="Code", help_text="Empty: the house gives one.")
    station = forms.ModelChoiceField(
        Station.objects.none(), to_field_name="code", required=False, label="Where it is put"
    )

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        self.fields["part"].queryset = Part.objects.filter(tracked=Part.Tracked.LOT).order_by("number")  # type: ignore[attr-defined]
        self.fields["station"].queryset = Station.objects.order_by("name", "code")  # type: ignore[attr-defined]

    def delivery(self) -> Delivery:
        """The delivery as it was stated."""
        told = self.cleaned_data
        station = told["station"]
        return Delivery(
            part=told["part"].number,
            quantity=told["amount"],
            supplier=told["supplier"],
            supplier_lot=told["supplier_lot"],
            expires_on=told["expires_on"],
            station=station.code if station else "",
        )


class DecideForm(ActForm):
    """Whether a received lot may be used, and why not."""

    act = "lot accepted"

    choice = forms.ChoiceField(
        choices=[("accept", "Accept it: it may be used"), ("reject", "Reject it: it may not be used")],
        widget=forms.RadioSelect,
        label="What becomes of it",
    )
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), required=False, label="Why")
