"""What a person fills in to let a unit go."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from plant.equipment.models import PrinterSetting
from plant.papers.label import DENSITIES
from plant.people.acting import ActForm, SigningForm, one_of

from .queries import AtDoor


def to_whom() -> forms.CharField:
    """A field for the name of whoever gets it; those who got something before are offered."""
    words = forms.TextInput({"list": "parties", "autocomplete": "off"})
    return forms.CharField(label="To whom", max_length=120, widget=words)


class ReleaseForm(SigningForm):
    """The name under the release is that of whoever presses, signed once more."""

    act = "unit released"


class ShipForm(ActForm):
    """To whom a unit goes."""

    act = "shipped"

    to = to_whom()


class ShipManyForm(ActForm):
    """Released frames that go together, and to whom."""

    act = "shipped"

    codes = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        label="What goes",
        error_messages={
            "required": "Choose at least one.",
            "invalid_choice": "%(value)s is not released any more, or has gone. Open this page again.",
        },
    )
    to = to_whom()

    def __init__(self, request: Any, ready: Iterable[AtDoor]) -> None:
        super().__init__(request)
        told = [(door.unit.code, f"{door.unit.code}, {door.unit.part.number}") for door in ready]
        self.fields["codes"].choices = told  # type: ignore[attr-defined]


class LabelForm(ActForm):
    """One more label, to a printer or as a file; one that was printed before says why."""

    act = "label printed"

    printer = forms.ChoiceField(
        required=False,
        label="Printer",
        help_text="As a file: for one that is not set up here.",
        widget=forms.RadioSelect,
    )
    dots = one_of([(str(dots), f"{dots} dots an inch") for dots in DENSITIES], "The printer of the file has")
    reason = forms.CharField(max_length=40, label="Why it is printed again", help_text="Such as torn, or unreadable.")

    def __init__(self, request: Any, printers: Iterable[PrinterSetting], *, is_again: bool) -> None:
        super().__init__(request)
        told = [
            (one.printer.code, f"{one.name or one.printer.code}, {one.dots_an_inch} dots an inch") for one in printers
        ]
        if told:
            self.fields["printer"].choices = [*told, ("", "As a file")]  # type: ignore[attr-defined]
            self.fields["dots"].required = False
        else:
            del self.fields["printer"]
        if not is_again:
            del self.fields["reason"]

    @property
    def printer_chosen(self) -> str:
        return str(self.cleaned_data.get("printer", ""))

    @property
    def dots_chosen(self) -> str:
        return str(self.cleaned_data["dots"] or DENSITIES[0])


class PassportForm(ActForm):
    """A unit gets its page for whoever has it; where it had one, why another takes its place."""

    act = "passport opened"

    reason = forms.CharField(
        max_length=40,
        label="Why it gets another one",
        help_text="Such as label lost, or copied. The old code opens no page from then on: its label must come off.",
    )

    def __init__(self, request: Any, *, is_again: bool) -> None:
        super().__init__(request)
        if not is_again:
            del self.fields["reason"]


class PassportCloseForm(ActForm):
    """The page of a unit is closed."""

    act = "passport closed"

    reason = forms.CharField(max_length=40, label="Why it is closed", help_text="Such as stolen, or sent by mistake.")


class LabelCheckForm(ActForm):
    """A label scanned back from the thing that it is stuck on."""

    act = "label checked"

    symbol = forms.CharField(
        max_length=400,
        label="Scan the label that is stuck on",
        widget=forms.TextInput({"autocomplete": "off", "spellcheck": "false"}),
        strip=False,
    )
