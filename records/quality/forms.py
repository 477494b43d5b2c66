"""What a person fills in on the pages of Review."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django import forms
from django.core.exceptions import ValidationError

from plant.people.acting import ActForm, one_of
from plant.people.queries import works_zone
from plant.templatetags.showing import when
from plant.times import read_time
from records.items.code_fields import ScannedField
from records.ledger.models import Entry, WordsErased
from records.ledger.refusals import Refused

from .models import Disposition, FlagAnswer, Nonconformance

WHY = "The auditor will read it."


def reason(label: str, *, required: bool = True) -> forms.CharField:
    """A field for a reason in words."""
    return forms.CharField(widget=forms.Textarea({"rows": 3}), label=label, help_text=WHY, required=required)


class DepartureForm(ActForm):
    """What is wrong with an item, and where."""

    act = "departure noted"

    defect = one_of(Nonconformance.Defect.choices, "What is wrong")
    words = reason("What you see, and where")


class DecideForm(ActForm):
    """What becomes of a departure."""

    act = "departure decided"

    choice = one_of(Disposition.Choice.choices, "What becomes of it")
    words = reason("Why")


class EraseForm(ActForm):
    """By what right words that name a person are emptied."""

    act = "words erased"

    reason = one_of(WordsErased.Reason.choices, "Why it is erased")


class CountersignForm(ActForm):
    """A second person agrees."""

    act = "departure countersigned"


class SettleForm(ActForm):
    """An entry placed by another one, or set aside."""

    act = "unplaced settled"

    placed_by = forms.TypedChoiceField(
        coerce=UUID,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
        label="The entry that tells it right",
        help_text="Entries of this kind from the days around it. Where none tells it, enter what happened first.",
    )
    reason = reason("Or why it is set aside", required=False)

    def __init__(self, request: Any, near: Iterable[Entry]) -> None:
        super().__init__(request)
        told = [(str(entry.key), f"{entry.kind}, {entry.by.name}, {when(entry.happened_at)}") for entry in near]
        self.fields["placed_by"].choices = [("", "None of these: it is set aside"), *told]  # type: ignore[attr-defined]


class FlagForm(ActForm):
    """What was found behind an entry that was kept and marked."""

    act = "flag answered"

    found = one_of(FlagAnswer.Found.choices, "What you found")
    words = reason("In words")


class SwapForm(ActForm):
    """Two units that carried each other's label."""

    act = "labels swapped"

    one = ScannedField("One unit", hint="Scan it, or type the number that stands on it.")
    other = ScannedField("The other unit", hint="")
    since = forms.CharField(
        label="Since when",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
        help_text="By the works' clock.",
    )
    words = reason("What happened")

    def clean_since(self) -> Any:
        """The moment that the works' clock showed."""
        try:
            return read_time(self.cleaned_data["since"], works_zone())
        except Refused as refused:
            raise ValidationError(str(refused)) from refused


class AsideForm(ActForm):
    """Something is put aside."""

    act = "put aside"

    words = reason("Why")


class ReworkForm(ActForm):
    """A unit goes back to a step of its route."""

    act = "sent to rework"

    step = forms.ChoiceField(label="From which step on", widget=forms.RadioSelect)
    words = reason("Why")

    def __init__(self, request: Any, steps: Iterable[str]) -> None:
        super().__init__(request)
        self.fields["step"].choices = [(step, step.capitalize()) for step in steps]  # type: ignore[attr-defined]


class ConfirmForm(ActForm):
    """How one knows which of two swapped units is which."""

    act = "swap confirmed"

    words = reason("How you know which is which")
