"""Forms that put right what went into what: a wrong scan, and a use that was forgotten."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import forms
from django.http import HttpRequest

from plant.people.acting import ActForm, PhotoField, one_of
from plant.people.beside import BesideForm
from records.ledger.acts import Said, was_taken

from .actions.correcting import Correction
from .actions.receiving import BookedRight
from .code_fields import ScannedField, TheirLotField
from .forms import LastDayField, QuantityField
from .lot_forms import REASON, PastField
from .making import Input
from .models import Receipt
from .unlikely import SureField, ask_unlikely

OTHER, NONE = "other", "none"
WHAT_IS_RIGHT = {OTHER: "Another one went in", NONE: "Nothing of it went in"}


class PartOnLabelField(forms.CharField):
    """The part of a lot that is not on file yet."""

    def __init__(self) -> None:
        super().__init__(
            required=False,
            max_length=40,
            label="Its part",
            help_text="Only for a lot that is not booked in yet: read it off the label.",
        )


def ask_beside(form: BesideForm, *, needs_second: bool) -> None:
    """Leave the second person of a form out where nobody need sign, else say why somebody must."""
    if not needs_second:
        del form.fields["second"], form.fields["pin"]
        return
    form.fields["second"].help_text = BESIDE
    for name in ("second", "pin"):
        form.fields[name].one_of = True  # type: ignore[attr-defined]  # not called what may stay empty


RIGHT_ONE = "Scan it, or type its code. Of a pot it may be the tank that it was drawn from."
BESIDE = "Another person who has seen it signs here, since a lot that is held, rejected or at risk falls away."


class RightForm(BesideForm):
    """What was scanned did not go in: what did, or that nothing did, and how one knows.

    The second person is asked for where something barred would fall away.
    """

    act = "link corrected"

    choice = one_of(WHAT_IS_RIGHT.items(), "What is right")
    right = ScannedField("What went in", hint=RIGHT_ONE, required=False)
    part = PartOnLabelField()
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="How it was found", help_text=REASON)

    def __init__(self, request: HttpRequest, *, needs_second: bool) -> None:
        super().__init__(request)
        self.order_fields(["choice", "right", "part", "words", "second", "pin"])
        ask_beside(self, needs_second=needs_second)

    def clean(self) -> dict[str, Any]:
        told = super().clean()
        if told.get("choice") == OTHER and not told.get("right") and "right" not in self.errors:
            self.add_error("right", "Scan what went in, or say that nothing of it did.")
        if told.get("choice") == NONE and told.get("right"):
            self.add_error("right", "Leave this empty where nothing went in, or choose that another one did.")
        return told

    @property
    def is_other(self) -> bool:
        """Whether something else went in."""
        return bool(self.cleaned_data["choice"] == OTHER)

    def correction(self, was: str) -> Correction:
        """What was scanned, and what it should have been."""
        return Correction(was, self.cleaned_data["right"], self.cleaned_data["part"])


class LateForm(ActForm):
    """An amount of a lot that went in and that nobody logged: when, and how one knows."""

    act = "use told late"

    lot = ScannedField("Lot that went in")
    part = PartOnLabelField()
    amount = QuantityField(label="How much")
    when = PastField("When it went in")
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="How it was found", help_text=REASON)

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        self.order_fields(["lot", "amount", "when", "words", "part"])

    def said(self) -> Said:
        """It has happened already, at the moment that is told."""
        return replace(super().said(), at=self.cleaned_data["when"], done=True)

    def input(self) -> Input:
        """The lot that went in, with its amount."""
        told = self.cleaned_data
        return Input(told["lot"], told["amount"], part=told["part"])


class UndoneForm(ActForm):
    """What was told of was not done."""

    act = "entry withdrawn"

    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="How it was found", help_text=REASON)


class UndoneBesideForm(BesideForm):
    """What was told of was not done; a second person signs where something barred would fall away."""

    act = "entry withdrawn"

    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="How it was found", help_text=REASON)

    def __init__(self, request: HttpRequest, *, needs_second: bool) -> None:
        super().__init__(request)
        self.order_fields(["words", "second", "pin"])
        ask_beside(self, needs_second=needs_second)


class ReceiptRightForm(ActForm):
    """A delivery as it should have been booked in, drawn with what is on file."""

    act = "receipt corrected"

    amount = QuantityField("20 kg", hint="With its unit: 20 kg, 60 pcs.", label="How much came")
    supplier = forms.CharField(max_length=80, label="From whom")
    supplier_lot = TheirLotField()
    delivery_note = forms.CharField(max_length=40, required=False, label="Delivery note")
    expires_on = LastDayField(required=False)
    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}), label="What was wrong, and how it was found", help_text=REASON
    )
    photo = PhotoField("Photo of its label")
    sure = SureField()

    def __init__(self, request: HttpRequest, receipt: Receipt) -> None:
        self._receipt = receipt
        names = ("supplier", "supplier_lot", "delivery_note", "expires_on")
        on_file = {name: getattr(receipt, name) for name in names}
        super().__init__(request, initial={"amount": receipt.written, **on_file})

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        amount = told.get("amount")
        if amount and amount.steps != self._receipt.amount and told.get("key") and not was_taken(told["key"]):
            ask_unlikely(self, told, self._receipt.item.part, self._receipt.item)
        return told

    def right(self) -> BookedRight:
        """What is right."""
        told = self.cleaned_data
        names = ("supplier", "supplier_lot", "delivery_note", "expires_on")
        return BookedRight(told["amount"], **{name: told[name] for name in names})
