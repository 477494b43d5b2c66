"""What a person fills in on the pages of the trace."""

from __future__ import annotations

from typing import Any

from django import forms

from plant.catalogue.models import Operation
from plant.catalogue.queries import route_of
from plant.people.acting import ActForm, SigningForm, one_of
from records.items.models import Hold, Item
from records.items.reasons import CHOSEN

# What a hold stops, as a person chooses it; the default comes first.
SCOPES = [
    (Hold.Scope.ALL, "No further work, no shipping"),
    (Hold.Scope.AFTER, "It stops after one more step, named below; no shipping"),
    (Hold.Scope.SHIP, "No shipping; work may go on"),
]


class OperationField(forms.ModelChoiceField):
    """A choice among the steps of a route, by name."""

    def label_from_instance(self, obj: Any) -> str:
        return obj.name


class HoldForm(ActForm):
    """Why an item is held, and what the hold stops."""

    act = "hold placed"

    reason = one_of(CHOSEN.items(), "Why it is held")
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="What you saw", required=False)
    scope = forms.TypedChoiceField(
        coerce=int, choices=SCOPES, widget=forms.RadioSelect, label="What it stops", initial=Hold.Scope.ALL
    )

    def __init__(self, request: Any, item: Item) -> None:
        super().__init__(request)
        steps = [operation.pk for operation in route_of(item.part, item.born_at)]
        if steps:
            self.fields["operation"] = OperationField(
                Operation.objects.filter(pk__in=steps).order_by("n"),
                required=False,
                label="After which step",
                empty_label="no step",
                help_text="Only where it stops after one.",
            )
        else:
            # What has no steps can't stop after one.
            self.fields["scope"].choices = [(scope, word) for scope, word in SCOPES if scope != Hold.Scope.AFTER]  # type: ignore[attr-defined]

    def stated(self) -> dict[str, Any]:
        """What was chosen, as the action takes it."""
        return {name: self.cleaned_data.get(name) for name in ("reason", "words", "scope", "operation")}


class LiftForm(SigningForm):
    """Why a hold is lifted, signed once more."""

    act = "hold lifted"

    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}),
        label="Why you lift it",
        help_text="The auditor will read it.",
        required=True,
    )
