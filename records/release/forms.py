"""What a person fills in to let a unit go."""

from __future__ import annotations

from django import forms

from plant.people.acting import ActForm, SigningForm


class ReleaseForm(SigningForm):
    """The name under the release is that of whoever presses, signed once more."""

    act = "unit released"


class ShipForm(ActForm):
    """To whom a unit goes."""

    act = "shipped"

    to = forms.CharField(label="To whom", max_length=120)
