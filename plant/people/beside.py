"""A form in which a second person may sign, by badge and PIN, beside whoever is in."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import forms

from records.ledger.acts import Said
from records.ledger.refusals import Refused

from .acting import ActForm
from .models import Person
from .seconds import second_by_pin


class BesideForm(ActForm):
    """An act that a second person signs where it needs one. Who it was is sealed with the entry."""

    second = forms.CharField(max_length=40, required=False, label="Badge of the second person")
    pin = forms.CharField(
        max_length=12,
        required=False,
        label="PIN of the second person",
        widget=forms.PasswordInput({"inputmode": "numeric", "autocomplete": "off"}),
    )

    beside: Person | None = None

    def clean(self) -> dict[str, Any]:
        """The second person, once their PIN fits."""
        told = dict(super().clean() or {})
        if told.get("second") and not self.errors:
            try:
                self.beside = second_by_pin(self.request, told["second"], told.get("pin", ""))
                told["second"] = self.beside.badge
            except Refused as refused:
                self.add_error("second" if refused.code in ("unknown", "second-person") else "pin", str(refused))
        return told

    def said(self) -> Said:
        said = super().said()
        if self.beside is None:
            return said
        return replace(said, second=self.beside, told={**said.told, "second": self.beside.pk})
