"""Forms of the stores: shape only; the rules of the works live in the actions."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django import forms
from django.http import HttpRequest

from plant.catalogue.models import Part
from plant.codes import KINDS, read_typed
from plant.equipment.models import Station
from plant.people.acting import ActForm, one_of
from plant.people.queries import works_zone
from plant.quantities import Quantity, read_quantity
from plant.times import read_time
from records.ledger.acts import Said
from records.ledger.refusals import Refused

from .actions.counting import Counted
from .actions.stores import Delivery, accept_lot, reject_lot, release_at_risk
from .models import CountReason, Item, LotDecision


class QuantityField(forms.CharField):
    """An amount as written, with its unit."""

    def clean(self, value: Any) -> Quantity | None:
        text = super().clean(value)
        try:
            return read_quantity(text) if text else None
        except Refused as refused:
            raise forms.ValidationError(str(refused)) from refused


class CountedField(QuantityField):
    """An amount that was counted or weighed; a bare number is in the unit of the part."""

    def __init__(self, part: Part, label: str) -> None:
        super().__init__(required=False, label=label)
        self._unit = part.unit

    def clean(self, value: Any) -> Quantity | None:
        text = str(value or "").strip()
        return super().clean(f"{text} {self._unit}" if text and text[-1].isdigit() else text)


class NewCodeField(forms.CharField):
    """A code off a printed label, for something new. One of the house is held to its check digit and its kind."""

    def __init__(self) -> None:
        super().__init__(
            max_length=40, required=False, label="Code", help_text="Scan its label. Empty: the house gives one."
        )

    def clean(self, value: Any) -> str:
        try:
            return read_typed(super().clean(value))
        except Refused as refused:
            raise forms.ValidationError(
                f"{value} can't be a label of the house: its check digit does not fit. Scan it once more."
            ) from refused


class ReceiveForm(ActForm):
    """What came, from whom, how much, and how long it is good. Without a code the house makes one."""

    act = "lot received"

    part = forms.ModelChoiceField(Part.objects.none(), to_field_name="number", label="What it is")
    amount = QuantityField(label="How much came", help_text="With its unit: 20 kg, 60 pcs.")
    supplier = forms.CharField(max_length=80, label="From whom")
    supplier_lot = forms.CharField(max_length=80, required=False, label="Lot on their label")
    expires_on = forms.DateField(required=False, label="Last good day", help_text="As 2026-12-31.")
    code = NewCodeField()
    station = forms.ModelChoiceField(
        Station.objects.none(), to_field_name="code", required=False, label="Where it is put"
    )
    certificate = forms.CharField(
        widget=forms.Textarea({"rows": 4}),
        required=False,
        label="Values of its certificate",
        help_text="One a line, name = value unit: viscosity = 310 mPas.",
    )

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        self.fields["part"].queryset = Part.objects.filter(tracked=Part.Tracked.LOT).order_by("number")  # type: ignore[attr-defined]
        self.fields["station"].queryset = Station.objects.order_by("name", "code")  # type: ignore[attr-defined]

    def clean_certificate(self) -> list[tuple[str, str, str]]:
        """Lines of the certificate as name, value as written, unit."""
        values = []
        for line in self.cleaned_data["certificate"].splitlines():
            name, _, told = (word.strip() for word in line.partition("="))
            value, _, unit = (word.strip() for word in told.partition(" "))
            if not line.strip():
                continue
            if not name or not value or len(name) > 60 or len(value) > 40 or len(unit) > 12:
                raise forms.ValidationError(f"“{line.strip()}” is no name with its value. Write viscosity = 310 mPas.")
            values.append((name, value, unit))
        return values

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        part, code = told.get("part"), told.get("code") or ""
        kind = KINDS.get(code[:2]) if code[2:3] == "-" else None
        if part is not None and kind and part.prefix and code[:2] != part.prefix:
            self.add_error("code", f"A code like {code} belongs to a {kind}, not to {part}. Look at the label.")
        return told

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
            certificate=told["certificate"],
        )


class DecideForm(ActForm):
    """Whether a received lot may be used, and why not."""

    act = "lot accepted"

    choice = forms.ChoiceField(
        choices=[
            ("accept", "Accept it: it may be used"),
            ("reject", "Reject it: it may not be used"),
            ("risk", "Release it at risk: it may be used before its certificate is there; Review only"),
        ],
        widget=forms.RadioSelect,
        label="What becomes of it",
    )
    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}),
        required=False,
        label="Why",
        help_text="Needed to reject it, or to release it at risk. The auditor will read it.",
    )
    limit = QuantityField(required=False, label="At risk: how much at most", help_text="With its unit: 2 kg.")
    until = forms.CharField(required=False, label="At risk: until when", help_text="As 2026-12-31T18:00.")

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        if not request.user.may("lot released at risk"):
            self.fields["choice"].choices = self.fields["choice"].choices[:2]  # type: ignore[attr-defined]
            del self.fields["limit"], self.fields["until"]
            self.fields["words"].help_text = "Needed to reject it. The auditor will read it."

    def clean_until(self) -> datetime | None:
        """The end of a release at risk, by the works' clock."""
        text = self.cleaned_data["until"].strip()
        try:
            return read_time(text, works_zone()) if text else None
        except (Refused, OverflowError) as wrong:
            raise forms.ValidationError(str(wrong)) from wrong

    def decide(self, lot: str, said: Said) -> LotDecision:
        """The decision, by the action that belongs to it."""
        told = self.cleaned_data
        if told["choice"] == "risk":
            return release_at_risk(lot, words=told["words"], limit=told["limit"], until=told["until"], said=said)
        return (reject_lot if told["choice"] == "reject" else accept_lot)(lot, words=told["words"], said=said)


class SplitForm(ActForm):
    """An amount split off a lot, as a lot of its own."""

    act = "lot split"

    amount = QuantityField(label="How much", help_text="With its unit: 500 g.")
    code = NewCodeField()


class ScrapForm(ActForm):
    """A lot written off, the whole or an amount."""

    act = "item scrapped"

    amount = QuantityField(required=False, label="How much", help_text="Empty: all that is left.")
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="Why", help_text="The auditor will read it.")


class CountForm(ActForm):
    """Lots at one place, each with what was found of it. What the records say is not shown: it would lead the hand."""

    act = "stock counted"

    other = forms.CharField(required=False, label="Another lot that lies here", help_text="Its code, by scan.")
    other_amount = QuantityField(required=False, label="How much of it", help_text="With its unit.")

    def __init__(self, request: HttpRequest, lots: Sequence[Item]) -> None:
        super().__init__(request)
        self._lots = {f"lot-{lot.pk}": lot for lot in lots}
        fields = {name: CountedField(lot.part, f"{lot.code}, {lot.part.unit}") for name, lot in self._lots.items()}
        self.fields = fields | self.fields

    @property
    def lines(self) -> list[tuple[Item, forms.BoundField]]:
        """Each lot with the field of its amount."""
        return [(lot, self[name]) for name, lot in self._lots.items()]

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if bool(told.get("other")) != bool(told.get("other_amount")) and not self.errors:
            self.add_error("other_amount", "Write the other lot's code and its amount, or neither.")
        return told

    def told(self) -> list[Counted]:
        """What was counted; a line left empty is not."""
        told = [
            Counted(lot.code, self.cleaned_data[name]) for name, lot in self._lots.items() if self.cleaned_data[name]
        ]
        other, amount = self.cleaned_data["other"], self.cleaned_data["other_amount"]
        return [*told, Counted(other, amount)] if other else told


class ExplainForm(ActForm):
    """Why a count differs from the records."""

    act = "count explained"

    why = one_of(CountReason.Why.choices, "Why it differs")
    words = forms.CharField(
        required=False, widget=forms.Textarea({"rows": 3}), label="In words", help_text="The auditor will read it."
    )
