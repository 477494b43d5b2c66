"""Forms of equipment: something is added, a gauge is calibrated."""

from __future__ import annotations

from typing import Any

from django import forms

from plant.papers.label import DENSITIES
from plant.people.acting import ActForm, one_of
from plant.quantities import KINDS, UNITS

from .actions import Found, Wanted
from .models import PrinterSetting, Station, Tool

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

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("what") == "station" and "/" in told.get("code", ""):
            self.add_error("code", "A station’s code has no slash: it is part of the address of its screens.")
        return told


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


class PrinterForm(ActForm):
    """How a printer of labels is reached, and which stations use it."""

    act = "printer set"

    code = forms.CharField(max_length=40, label="Code", help_text="As on the printer. No code is used twice.")
    name = forms.CharField(max_length=80, required=False, label="Name", help_text="Such as Labels at the presses.")
    ipp = forms.CharField(
        max_length=200,
        label="IPP address",
        help_text="As ipp://HOST:631/ipp/print. It must take PDF; set its labels to 70 × 32 mm and no scaling there.",
    )
    dots = one_of([(str(dots), f"{dots} dots an inch") for dots in DENSITIES], "It prints")
    stations = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label="Stations that use it"
    )
    is_gone = forms.BooleanField(required=False, label="It is out of use")

    def __init__(self, request: Any, now: PrinterSetting | None = None) -> None:
        initial = {}
        if now is not None:
            initial = {"code": now.printer.code, "name": now.name, "ipp": now.address, "dots": now.dots_an_inch}
            initial["stations"] = [row.station.code for row in now.stations.all()]
        super().__init__(request, initial=initial)
        choices = [(one.code, str(one)) for one in Station.objects.order_by("kind", "code")]
        self.fields["stations"].choices = choices  # type: ignore[attr-defined]
        if now is None:
            del self.fields["is_gone"]
        else:
            self.fields["code"].disabled = True

    def wanted(self) -> Wanted:
        """How it is to be set up."""
        told = self.cleaned_data
        return Wanted(told["name"], told["ipp"], int(told["dots"]), tuple(told["stations"]), bool(told.get("is_gone")))
