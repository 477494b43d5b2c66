"""Forms of what is mounted at a machine's heads, and of what was wound there."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from django import forms
from django.http import HttpRequest

from plant.equipment.models import Station
from plant.people.acting import ActForm
from records.ledger.acts import Said

from .lot_forms import PastField
from .models import FeedEntry


class MountForm(ActForm):
    """A lot that was mounted at a head, between two moments."""

    act = "lot mounted"

    station = forms.ModelChoiceField(Station.objects.none(), to_field_name="code", label="At which machine")
    head = forms.CharField(max_length=20, label="At which head", help_text="As it is called there: left, or 1.")
    not_before = PastField("Not before")
    not_after = PastField("Not after", "By the works’ clock. The same moment twice where it was seen.")
    done = forms.BooleanField(
        required=False,
        label="It is mounted already",
        help_text="Then it is kept as it was, and marked where the records say otherwise.",
    )

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        self.fields["station"].queryset = Station.objects.order_by("name", "code")  # type: ignore[attr-defined]

    def clean_head(self) -> str:
        """One head under one name, however it is typed."""
        return " ".join(self.cleaned_data["head"].split()).casefold()

    def said(self) -> Said:
        return replace(super().said(), done=self.cleaned_data["done"])

    def told(self) -> dict[str, Any]:
        """What was stated of the lot."""
        told = self.cleaned_data
        names = ("head", "not_before", "not_after")
        return {"station": told["station"].code, **{name: told[name] for name in names}}


class WoundForm(ActForm):
    """A preform that was wound from what was mounted at a head, over a span."""

    act = "use told late"

    head = forms.ChoiceField(label="At which head")
    began_at = PastField("When the winding began")
    ended_at = PastField("When it ended")

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        rows = FeedEntry.objects.standing().values_list("station__code", "head").distinct()
        self._heads = {f"{station}, {head}": (station, head) for station, head in sorted(rows)}
        self.fields["head"].choices = [("", "Choose"), *((name, name) for name in self._heads)]  # type: ignore[attr-defined]

    def told(self) -> dict[str, str | datetime]:
        """What was stated of the preform."""
        station, head = self._heads[self.cleaned_data["head"]]
        moments = {name: self.cleaned_data[name] for name in ("began_at", "ended_at")}
        return {"station": station, "head": head, **moments}
