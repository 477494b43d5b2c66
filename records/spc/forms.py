"""Forms of charts: a signal answered, limits frozen, a chart begun anew."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from django import forms

from plant.people.acting import ActForm, speak_plainly
from plant.people.queries import works_zone
from plant.times import read_time
from records.ledger.refusals import Refused

WHY = forms.Textarea({"rows": 3})


class AnswerForm(ActForm):
    """What was found behind a signal."""

    act = "signal answered"

    cause_found = forms.TypedChoiceField(
        choices=[("yes", "The cause was found"), ("no", "No cause was found")],
        coerce=lambda told: told == "yes",
        widget=forms.RadioSelect,
        label="What was found",
    )
    removed = forms.TypedChoiceField(
        choices=[("no", "It is not removed"), ("yes", "It is removed")],
        coerce=lambda told: told == "yes",
        widget=forms.RadioSelect,
        label="What was done",
    )
    words = forms.CharField(widget=WHY, label="In words", help_text="An answer alone brings Cp and Cpk not back.")

    def told(self) -> dict[str, Any]:
        """The answer as it was given."""
        return {name: self.cleaned_data[name] for name in ("cause_found", "removed", "words")}


class Moment(forms.CharField):
    """A moment by the works' clock."""

    def clean(self, value: Any) -> datetime:
        try:
            return read_time(super().clean(value), works_zone())
        except (Refused, OverflowError) as wrong:
            raise forms.ValidationError(str(wrong)) from wrong


class ChosenSpan(forms.Form):
    """The span that an address or a form names; all values on file where it names none."""

    from_at = Moment(label="From", help_text="As 2026-10-09T08:00, by the works’ clock.")
    to_at = Moment(label="To")

    def __init__(self, told: Mapping[str, str], times: Sequence[datetime]) -> None:
        ends = (times[0], times[-1] + timedelta(minutes=1)) if times else ()
        whole = [moment.astimezone(works_zone()).strftime("%Y-%m-%dT%H:%M") for moment in ends]
        data = dict(zip(("from_at", "to_at"), whole, strict=False))
        super().__init__(data | {name: told[name] for name in ("from_at", "to_at") if name in told})
        for field in self.fields.values():
            speak_plainly(field)


class SpanForm(ActForm):
    """Limits frozen from the span that was shown."""

    act = "limits frozen"

    from_at = Moment(widget=forms.HiddenInput)
    to_at = Moment(widget=forms.HiddenInput)
    words = forms.CharField(widget=WHY, label="Why from this span", help_text="The auditor will read it.")

    def told(self) -> dict[str, Any]:
        """Span and reason."""
        return {name: self.cleaned_data[name] for name in ("from_at", "to_at", "words")}


class BreakForm(ActForm):
    """Why a chart begins a new piece."""

    act = "chart broken"

    words = forms.CharField(
        widget=WHY, label="What was changed", help_text="Readings before and after are not one process."
    )
