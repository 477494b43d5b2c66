"""What a person fills in to let a unit go."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

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
    """One more label; one that was printed before says why."""

    act = "label printed"

    dots = one_of([(str(dots), f"{dots} dots an inch") for dots in DENSITIES], "The printer has")
    reason = forms.CharField(max_length=40, label="Why it is printed again", help_text="Such as torn, or unreadable.")

    def __init__(self, request: Any, *, is_again: bool) -> None:
        super().__init__(request)
        if not is_again:
            del self.fields["reason"]
