"""Forms of equipment: something is added, a gauge is calibrated."""

from __future__ import annotations

from typing import Any

from django import forms

from plant.people.acting import ActForm
from plant.quantities import KINDS, UNITS

from .actions import Found
from .models import Tool

WHATS = (("station", "Station"), ("tool", "Tool"), ("recorder", "Recorder"), ("gauge", "Gauge or scale"))


class AddForm(ActForm):
    """A station, tool, recorder or gauge."""

    act = "equipment added"

    what = forms.ChoiceField(choices=WHATS, widget=forms.RadioSelect, label="What it is")
    code = forms.CharField(max_length=40, label="Code", help_text="As on its label. No code is used twice.")
    kind = forms.CharField(
        max_length=20,
        required=False,
        label="Kind",
        help_text=f"A tool is one of: {', '.join(Tool.Kind.values)}. For the others in your own words.",
    )
    name = forms.CharField(max_length=80, required=False, label="Name", help_text="Of a station, such as Press 2.")
    unit_kind = forms.ChoiceField(
        choices=[("", "Not a gauge"), *((kind, kind.replace("_", " ")) for kind in KINDS)],
        required=False,
        label="What a gauge reads",
    )
    zone = forms.CharField(
        max_length=64,
        required=False,
        label="Zone of a recorder's clock",
        help_text="As Europe/Rome. Empty: its clock shows the works' time.",
    )


class CalibrateForm(ActForm):
    """What a check of a gauge found."""

    act = "gauge calibrated"

    result = forms.ChoiceField(
        choices=[
            ("good", "Good: it may be used"),
            ("out", "Out: what it measured since the last good check is in doubt"),
        ],
        widget=forms.RadioSelect,
        label="Found",
    )
    unit = forms.ChoiceField(
        choices=[(u, u) for units in UNITS.values() for u in units], label="Unit of the numbers below"
    )
    error = forms.CharField(
        max_length=40,
        required=False,
        label="Reads too high by",
        help_text="As found. Below nought where it reads too low.",
    )
    left_error = forms.CharField(max_length=40, required=False, label="Left reading too high by")
    resolution = forms.CharField(max_length=40, required=False, label="Smallest step that it shows")
    expanded = forms.CharField(max_length=40, required=False, label="Expanded uncertainty, k = 2")
    smallest_load = forms.CharField(max_length=40, required=False, label="Smallest load of a scale")
    due_on = forms.DateField(required=False, label="Good until", help_text="Last good day, as 2026-12-31.")
    certificate = forms.CharField(max_length=80, required=False, label="Certificate")
    remark = forms.CharField(widget=forms.Textarea({"rows": 2}), required=False, label="Remark")

    def __init__(self, request: Any, unit_kind: str) -> None:
        super().__init__(request)
        if unit_kind in UNITS:
            self.fields["unit"].choices = [(unit, unit) for unit in UNITS[unit_kind]]  # type: ignore[attr-defined]
        self.fields["unit"].initial = "mm" if unit_kind in ("", "length") else None

    def found(self) -> Found:
        """What was found, as it was written."""
        names = (
            "result",
            "error",
            "left_error",
            "resolution",
            "expanded",
            "smallest_load",
            "unit",
            "due_on",
            "certificate",
            "remark",
        )
        return Found(**{name: self.cleaned_data[name] for name in names})
