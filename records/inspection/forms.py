"""Forms of inspection: a sheet with a line for each characteristic, a value corrected or taken back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms

from plant.catalogue.models import CharacteristicRevision
from plant.equipment.models import Gauge, Station
from plant.people.acting import ActForm, one_of
from plant.people.beside import BesideForm
from plant.quantities import steps_of
from records.ledger.refusals import Refused

from .actions import Line, Right
from .judging import is_far_off
from .showing import band_shown

NOT_READ = (
    ("", "Read"),
    ("cannot-reach", "Can’t get at it"),
    ("no-gauge", "No gauge to hand"),
    ("surface", "Surface not ready"),
    ("gauge-doubtful", "Gauge is doubtful"),
)


@dataclass(frozen=True)
class SheetLine:
    """One line of the sheet: its band in words, its fields."""

    band: CharacteristicRevision
    words: str
    readings: list[Any]
    gauge: Any
    reason: Any


class SheetForm(ActForm):
    """An inspection sheet. A line left empty is no line; one that could not be read says why."""

    act = "measured"

    def __init__(self, request: Any, bands: list[CharacteristicRevision]) -> None:
        super().__init__(request)
        self.bands = bands
        self.asks_whether_sure = False
        gauges = list(Gauge.objects.order_by("code"))
        for band in bands:
            for n in range(1, band.readings + 1):
                self.fields[f"c{band.pk}-{n}"] = _Reading(band, n)
            self.fields[f"c{band.pk}-gauge"] = _gauge_field(band, gauges)
            self.fields[f"c{band.pk}-reason"] = forms.ChoiceField(
                choices=NOT_READ, required=False, label=f"{band.characteristic.name}: read, or why not"
            )
        self.fields["station"] = forms.ModelChoiceField(
            Station.objects.order_by("code"), to_field_name="code", required=False, label="Where it is measured"
        )
        self.fields["sure"] = forms.BooleanField(required=False, label="It is what the gauge shows. Keep it.")

    def lines_shown(self) -> list[SheetLine]:
        """Lines as the page draws them."""
        return [
            SheetLine(
                band,
                band_shown(band),
                [self[f"c{band.pk}-{n}"] for n in range(1, band.readings + 1)],
                self[f"c{band.pk}-gauge"],
                self[f"c{band.pk}-reason"],
            )
            for band in self.bands
        ]

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        for band in self.bands:
            self._ask_whether_sure(band, told)
        return told

    def _ask_whether_sure(self, band: CharacteristicRevision, told: dict[str, Any]) -> None:
        """A value far off the band is asked for once more before it is kept; it may be a slip of the unit."""
        for n in range(1, band.readings + 1):
            name = f"c{band.pk}-{n}"
            text = told.get(name)
            if not text or told.get("sure"):
                continue
            if is_far_off(steps_of(text, band.unit, band.unit_kind), band.lower, band.upper):
                self.asks_whether_sure = True
                self.add_error(
                    name, f"{text} {band.unit} lies far off the band. Read it again, or tick below that it is so."
                )

    def lines(self) -> list[Line]:
        """The sheet as it was filled in."""
        told, lines = self.cleaned_data, []
        for band in self.bands:
            texts = [told[f"c{band.pk}-{n}"] for n in range(1, band.readings + 1)]
            readings = [text for text in texts if text]
            reason = "" if readings else told[f"c{band.pk}-reason"]
            if readings or reason:
                lines.append(Line(band.characteristic.name, readings, told[f"c{band.pk}-gauge"], reason))
        return lines

    def station_code(self) -> str:
        """Station at which it was measured, as it was chosen."""
        station = self.cleaned_data["station"]
        return station.code if station else ""


class _Reading(forms.CharField):
    """One reading as written, in the unit of its band."""

    def __init__(self, band: CharacteristicRevision, n: int) -> None:
        several = f", reading {n}" if band.readings > 1 else ""
        widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off", "size": 9})
        super().__init__(required=False, max_length=40, label=f"{band.characteristic.name}{several}", widget=widget)
        self.band = band

    def clean(self, value: Any) -> str:
        text = str(super().clean(value)).strip()
        if text:
            try:
                steps_of(text, self.band.unit, self.band.unit_kind)
            except Refused as refused:
                raise forms.ValidationError(str(refused)) from refused
        return text


def _gauge_field(band: CharacteristicRevision, gauges: list[Gauge]) -> forms.ChoiceField:
    fitting = [gauge.code for gauge in gauges if not band.gauge_kind or gauge.kind == band.gauge_kind]
    choices = [("", "No gauge"), *((code, code) for code in fitting)]
    return forms.ChoiceField(choices=choices, required=False, label=f"{band.characteristic.name}: gauge")


REASONS = (
    ("read-wrong", "Read wrong"),
    ("wrong-unit", "Wrong unit of measure"),
    ("wrong-frame", "It belongs to another frame"),
    ("gauge-fault", "The gauge is at fault"),
    ("other", "Something else: say what"),
)


BESIDE = "Where a value outside becomes one within, another person must have seen it, and signs here."


class CorrectForm(BesideForm):
    """The right value or the right gauge, why, and the second person where one must sign."""

    act = "measurement corrected"

    value = forms.CharField(
        max_length=40,
        required=False,
        label="Right value",
        help_text="Leave it empty where it belongs to another frame: then it counts as not read on this one.",
        widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
    )
    reason = one_of(REASONS, "What was wrong?")
    gauge = forms.ModelChoiceField(
        Gauge.objects.none(), to_field_name="code", required=False, label="Right gauge", empty_label="As it was"
    )
    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}), required=False, label="In words", help_text="The auditor will read it."
    )

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        self.fields["gauge"].queryset = Gauge.objects.order_by("code")  # type: ignore[attr-defined]
        self.fields["second"].help_text = BESIDE
        self.order_fields(["value", "reason", "gauge", "second", "pin", "words"])

    def clean(self) -> dict[str, Any]:
        """Words where no reason of the list fits."""
        told = super().clean()
        if told.get("reason") == "other" and not told.get("words", "").strip():
            self.add_error("words", "Say what was wrong.")
        return told

    def right(self, characteristic: str) -> Right:
        """What the measurement should say."""
        told, gauge = self.cleaned_data, self.cleaned_data["gauge"]
        value, code = told["value"] or None, gauge.code if gauge else ""
        elsewhere = told["reason"] == "wrong-frame" and value is None
        return Right(value, code, told["second"], characteristic, elsewhere, told["reason"])


class WithdrawForm(ActForm):
    """Why a measurement is taken back."""

    act = "entry withdrawn"

    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="Why", help_text="The auditor will read it.")
