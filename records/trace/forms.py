"""What a person fills in on the pages of the trace."""

from __future__ import annotations

from typing import Any

from django import forms

from plant.catalogue.models import Operation
from plant.catalogue.queries import route_of
from plant.people.acting import ActForm
from records.items.models import Hold, Item

REASONS = [
    ("", "Choose one"),
    ("dimension", "a dimension"),
    ("cure", "cure or vacuum run"),
    ("material", "material or its certificate"),
    ("surface", "surface or bond"),
    ("doubt", "a doubt about the record"),
    ("recall", "named in a recall"),
    ("other", "something else, told below"),
]


class OperationField(forms.ModelChoiceField):
    """A choice among the steps of a route, by name."""

    def label_from_instance(self, obj: Any) -> str:
        return obj.name


class HoldForm(ActForm):
    """Why an item is held, and what the hold stops."""

    act = "hold placed"

    reason = forms.ChoiceField(choices=REASONS, label="Why it is held")
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="What you saw", required=False)
    scope = forms.TypedChoiceField(coerce=int, choices=Hold.Scope, label="What it stops", initial=Hold.Scope.ALL)

    def __init__(self, request: Any, item: Item) -> None:
        super().__init__(request)
        route = route_of(item.part, item.born_at)
        self.fields["operation"] = OperationField(
            Operation.objects.filter(pk__in=[operation.pk for operation in route]).order_by("n"),
            required=False,
            label="After which step",
            empty_label="no step",
            help_text="Only where it stops after one.",
        )


class LiftForm(ActForm):
    """Why a hold is lifted."""

    act = "hold lifted"

    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}),
        label="Why you lift it",
        help_text="The auditor will read it.",
        required=True,
    )
