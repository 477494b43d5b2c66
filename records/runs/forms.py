"""Forms of runs: one is recorded, a file read into it, judged under a recipe, decided; and a recipe proposed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, ClassVar

from django import forms

from plant.catalogue.forms import ProposeForm
from plant.catalogue.models import RecipeRevision
from plant.catalogue.queries import mix_names
from plant.catalogue.specs import RecipeSpec, RuleSpec
from plant.equipment.models import Recorder, Station
from plant.people.acting import ActForm
from plant.people.queries import works_zone
from plant.times import read_time
from records.items.code_fields import NewCodeField, scanned_code
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.refusals import Refused

from .actions import LogFile, Pass, last_reading_of
from .assessing.features import FEATURES, Feature
from .models import Run, RunDecision

LARGEST_FILE = 20 * 1024 * 1024


class MomentField(forms.CharField):
    """A time by the works' clock, as written."""

    def clean(self, value: Any) -> datetime | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return read_time(text, works_zone())
        except (Refused, OverflowError) as wrong:
            raise forms.ValidationError(str(wrong)) from wrong


class RunForm(ActForm):
    """One pass through a process and the units in it."""

    act = "run recorded"

    kind = forms.ChoiceField(choices=Run.Kind.choices, label="What it was")
    units = forms.CharField(
        widget=forms.Textarea({"rows": 3, "autocapitalize": "characters"}), label="Units in it", help_text="One a line."
    )
    station = forms.ModelChoiceField(
        Station.objects.none(), to_field_name="code", required=False, label="Where", empty_label="Not told"
    )
    began_at = MomentField(label="Began", help_text="As 2026-11-24T14:31, by the works’ clock.")
    ended_at = MomentField(required=False, label="Ended")

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        self.fields["station"].queryset = Station.objects.order_by("code")  # type: ignore[attr-defined]

    def told(self) -> Pass:
        """The run as it was told."""
        told, station = self.cleaned_data, self.cleaned_data["station"]
        units = told["units"].replace(",", " ").split()
        return Pass(told["kind"], units, told["began_at"], told["ended_at"], station.code if station else "")


class LogForm(ActForm):
    """A recorder file of a run."""

    act = "log read"

    file = forms.FileField(label="Recorder file", help_text="As the recorder wrote it: text table or workbook.")
    recorder = forms.ModelChoiceField(
        Recorder.objects.none(), to_field_name="code", required=False, label="Recorder", empty_label="Not told"
    )
    zone = forms.CharField(
        max_length=64, required=False, label="Zone of its clock", help_text="Empty: the recorder’s, or the works’."
    )

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        self.fields["recorder"].queryset = Recorder.objects.order_by("code")  # type: ignore[attr-defined]

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > LARGEST_FILE:
            raise forms.ValidationError("The file is larger than 20 MB. Send the part that belongs to this run.")
        return file

    def told(self) -> LogFile:
        """The file as it was sent."""
        file, recorder = self.cleaned_data["file"], self.cleaned_data["recorder"]
        file.seek(0)
        return LogFile(file.name, file.read(), recorder.code if recorder else "", self.cleaned_data["zone"].strip())


class ShotForm(LogForm):
    """A pot that a machine metered, by the machine's own log."""

    act = "pot metered"

    mix = forms.ChoiceField(label="Mix")
    sources = forms.CharField(
        widget=forms.Textarea({"rows": 3, "autocapitalize": "characters"}),
        label="What each channel metered",
        help_text="One a line: the channel as the log names it, a colon, then the tank or the can.",
    )
    pot = NewCodeField("Number of the pot")
    mixed_at = MomentField(
        required=False,
        label="When it was mixed",
        help_text="Empty: at the last reading of the log.",
    )

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        names = mix_names()
        first = [("", "Choose")] if len(names) > 1 else []  # nobody takes the first of a list by not looking
        self.fields["mix"].choices = [*first, *((name, name) for name in names)]  # type: ignore[attr-defined]
        self.order_fields(["mix", "file", "sources", "pot", "mixed_at", "recorder", "zone"])

    def clean_sources(self) -> dict[str, str]:
        """The tank or lot by channel."""
        found: dict[str, str] = {}
        for line in filter(None, map(str.strip, self.cleaned_data["sources"].split("\n"))):
            channel, _, code = line.rpartition(": " if ": " in line else ":")  # a link has a colon of its own
            if not (channel.strip() and code.strip()):
                raise forms.ValidationError("Write a channel, a colon, and the tank or the can on each line.")
            if channel.strip() in found:
                raise forms.ValidationError(f"{channel.strip()} stands on two lines. Write what it metered once.")
            found[channel.strip()] = scanned_code(code)
        return found

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if self.errors:
            return told
        try:
            told["mixed_at"] = told.get("mixed_at") or last_reading_of(self.told())
        except Refused as refused:
            self.add_error(None, str(refused))
            return told
        if told["mixed_at"] is None:
            self.add_error("mixed_at", "The log does not tell when. Write when it was mixed.")
        elif told["mixed_at"] > clock.now():
            self.add_error("mixed_at", "This moment has not come yet. Write when it was mixed.")
        return told

    def said(self) -> Said:
        """It has been mixed already, at the moment that the log tells."""
        return replace(super().said(), at=self.cleaned_data["mixed_at"], done=True)


class AssessForm(ActForm):
    """The recipe that a run is judged under."""

    act = "run assessed"

    recipe = forms.ChoiceField(label="Recipe")

    def __init__(self, request: Any, run: Run) -> None:
        super().__init__(request)
        kind = RecipeRevision.objects.in_force(run.began_at).filter(kind=run.kind)
        codes = sorted(set(kind.values_list("recipe", flat=True)))
        self.fields["recipe"].choices = [(code, code) for code in codes]  # type: ignore[attr-defined]


class DecideForm(ActForm):
    """What a person decides on a run, and why."""

    act = "run decided"

    choice = forms.ChoiceField(
        choices=[
            (RunDecision.Choice.ACCEPT, "Accept it: the units go on"),
            (RunDecision.Choice.FAIL, "Fail it: the units are held where the settings say so"),
        ],
        widget=forms.RadioSelect,
        label="What becomes of it",
    )
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="Why", help_text="The auditor will read it.")

    def decided(self) -> dict[str, str]:
        """Choice and reason."""
        return {name: self.cleaned_data[name] for name in ("choice", "words")}


class RecipeForm(ProposeForm):
    """The limits a run is judged against."""

    title = "a recipe"
    hint = "From the data sheet of the resin and the works' own trials, which come first; no limit here is a default."
    ROWS: ClassVar[int] = 12

    recipe = forms.CharField(max_length=40, label="Code")
    kind = forms.ChoiceField(choices=Run.Kind.choices, label="Of which runs")

    def __init__(self, request: Any, standing: Any = None) -> None:
        super().__init__(request, standing)
        rules = list(standing.rules) if standing else []
        features = [
            ("", "None"),
            *((feature.value, f"{known.words}, {known.unit}") for feature, known in FEATURES.items()),
        ]
        for n in range(1, max(self.ROWS, len(rules) + 3) + 1):
            told = rules[n - 1] if n <= len(rules) else RuleSpec("", "")
            self.fields[f"feature-{n}"] = forms.ChoiceField(
                choices=features, required=False, label="Limit on", initial=told.feature
            )
            for name, label in (
                ("level", "At the level"),
                ("lower", "Lower limit"),
                ("upper", "Upper limit"),
                ("role", "Probe or channel"),
            ):
                self.fields[f"{name}-{n}"] = forms.CharField(
                    max_length=40, required=False, label=label, initial=getattr(told, name)
                )
        self.count = max(self.ROWS, len(rules) + 3)
        self.order_fields([name for name in self.fields if name != "reason"] + ["reason"])

    @property
    def lines(self) -> list[tuple[str, list[Any]]]:
        names = ("feature", "level", "lower", "upper", "role")
        return [(f"Limit {n}", [self[f"{name}-{n}"] for name in names]) for n in range(1, self.count + 1)]

    @staticmethod
    def stated(standing: Any) -> Mapping[str, Any]:
        return {"recipe": standing.recipe, "kind": standing.kind}

    def spec(self) -> RecipeSpec:
        told, rules = self.cleaned_data, []
        for n in range(1, self.count + 1):
            if not told[f"feature-{n}"]:
                continue
            known = FEATURES[Feature(told[f"feature-{n}"])]
            names = {name: told[f"{name}-{n}"] for name in ("level", "lower", "upper", "role")}
            rules.append(
                RuleSpec(told[f"feature-{n}"], _stored_unit(known.unit), level_unit=known.level_unit or "", **names)
            )
        return RecipeSpec(told["recipe"], told["kind"], rules)

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        named = [n for n in range(1, self.count + 1) if told.get(f"feature-{n}")]
        if not named and not self.errors:
            self.add_error(None, "A recipe has at least one limit.")
        for n in named:
            if not told.get(f"lower-{n}") and not told.get(f"upper-{n}"):
                self.add_error(f"lower-{n}", "Write a lower or an upper limit.")
        return told


def _stored_unit(unit: str) -> str:
    """Unit in which a limit is stated: a rate as its change in a minute, a change of temperature in kelvin."""
    return "K" if unit == "degC/min" else unit.removesuffix("/min")
