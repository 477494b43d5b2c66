"""Forms of charts: a signal answered, limits frozen, a chart begun anew."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django import forms

from plant.people.acting import ActForm
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


class SpanForm(ActForm):
    """The span of measurements that limits are frozen from."""

    act = "limits frozen"

    from_at = forms.CharField(label="From", help_text="As 2026-10-09T08:00, by the works’ clock.")
    to_at = forms.CharField(label="To")
    words = forms.CharField(widget=WHY, label="Why from this span", help_text="The auditor will read it.")

    def __init__(self, request: Any, times: Sequence[datetime]) -> None:
        ends = (times[0], times[-1] + timedelta(minutes=1)) if times else ()
        told = [moment.astimezone(works_zone()).strftime("%Y-%m-%dT%H:%M") for moment in ends]
        super().__init__(request, initial=dict(zip(("from_at", "to_at"), told, strict=False)))

    def clean_from_at(self) -> datetime:
        return self._moment("from_at")

    def clean_to_at(self) -> datetime:
        return self._moment("to_at")

    def _moment(self, name: str) -> datetime:
        try:
            return read_time(self.cleaned_data[name], works_zone())
        except (Refused, OverflowError) as wrong:
            raise forms.ValidationError(str(wrong)) from wrong

    def told(self) -> dict[str, Any]:
        """Span and reason."""
        return {name: self.cleaned_data[name] for name in ("from_at", "to_at", "words")}


class BreakForm(ActForm):
    """Why a chart begins a new piece."""

    act = "chart broken"

    words = forms.CharField(
        widget=WHY, label="What was changed", help_text="Readings before and after are not one process."
    )
