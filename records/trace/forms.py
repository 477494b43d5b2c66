"""What a person fills in on the pages of the trace."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from django import forms

from plant.catalogue.models import Operation, Part
from plant.catalogue.queries import route_of
from plant.people.acting import ActForm, SigningForm, one_of, speak_plainly, type_as_text
from records.items.models import Hold, Item
from records.items.queries import find_item
from records.items.reasons import CHOSEN

from .finding import code_of, why_unknown
from .listing import Reach

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


class HoldAllForm(ActForm):
    """Several things held for one reason; all in reach are chosen beforehand, none is left out unseen.

    What was shipped is chosen by hand: a hold on it speaks to whoever rides it.
    """

    act = "hold placed"

    codes = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="What is held",
        error_messages={"invalid_choice": "%(value)s is not in reach any more. Open this page again."},
    )
    all_shipped = forms.BooleanField(required=False)
    shipped = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Or these of what was shipped",
        help_text="The public page of each one chosen says “Do not ride” from now on.",
        error_messages={"invalid_choice": "%(value)s is not shipped any more. Open this page again."},
    )
    reason = one_of(CHOSEN.items(), "Why they are held")
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="What you know", required=False)

    def __init__(self, request: Any, reach: Sequence[Reach], shipped: Sequence[Reach]) -> None:
        super().__init__(request, initial={"codes": [one.code for one in reach]})
        for name, things in (("codes", reach), ("shipped", shipped)):
            self.fields[name].choices = [(one.code, one.told) for one in things]  # type: ignore[attr-defined]
        self.fields["all_shipped"].label = f"All {len(shipped)} that were shipped as well"
        if not shipped:
            del self.fields["shipped"]
        if len(shipped) < 2:
            del self.fields["all_shipped"]

    def clean(self) -> dict[str, Any]:
        told: dict[str, Any] = super().clean() or {}
        if not self.errors and not self.chosen():
            self.add_error("codes", "Choose at least one.")
        return told

    def chosen(self) -> list[str]:
        """Codes of all that is to be held."""
        told = self.cleaned_data
        shipped = self.fields["shipped"] if told.get("all_shipped") else None
        all_of_them = [code for code, _ in shipped.choices] if shipped else []  # type: ignore[attr-defined]
        return [*told["codes"], *(all_of_them or told.get("shipped", []))]


class LiftForm(SigningForm):
    """Why a hold is lifted, signed once more."""

    act = "hold lifted"

    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}),
        label="Why you lift it",
        help_text="The auditor will read it.",
        required=True,
    )


class LiftSeveralForm(SigningForm):
    """Which of the holds of one entry are lifted, and why; nothing is chosen beforehand."""

    act = "hold lifted"

    which = one_of([], "Which are lifted")
    codes = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple, label="Those", required=False, help_text="Only where not all are meant."
    )
    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}), label="Why you lift them", help_text="The auditor will read it."
    )

    def __init__(self, request: Any, codes: Sequence[str]) -> None:
        super().__init__(request)
        self._all = list(codes)
        self.fields["which"].choices = [("all", f"All {len(codes)}"), ("some", "Those ticked below")]  # type: ignore[attr-defined]
        self.fields["codes"].choices = [(code, code) for code in codes]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("which") == "some" and not told.get("codes") and "codes" not in self.errors:
            self.add_error("codes", "Tick at least one.")
        if told.get("which") == "all" and told.get("codes"):
            self.add_error("which", "Some are ticked, and all are chosen: say which is meant.")
        return told

    def chosen(self) -> list[str]:
        """Codes whose hold is lifted."""
        return self._all if self.cleaned_data["which"] == "all" else self.cleaned_data["codes"]


class SharedForm(forms.Form):
    """Which frames failed, and among what to look for that which they share."""

    AMONG = (("lot", "Lots"), ("tool", "Tools"), ("person", "People"))

    codes = forms.CharField(
        widget=forms.Textarea({"rows": 3, "spellcheck": "false"}),
        label="Failed frames",
        help_text="Their codes, with blanks, commas or line ends between them.",
    )
    among = forms.MultipleChoiceField(
        choices=AMONG, widget=forms.CheckboxSelectMultiple, label="Look among", initial=["lot", "tool"]
    )

    days = forms.IntegerField(
        min_value=0,
        max_value=400,
        initial=14,
        label="Days around them",
        help_text="Others bonded up to so many days before the first and after the last are compared.",
    )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        for field in self.fields.values():
            speak_plainly(field)
            type_as_text(field)

    def clean_codes(self) -> list[Item]:
        """The frames that are meant, each once."""
        frames: dict[int, Item] = {}
        for typed in re.split(r"[\s,;]+", self.cleaned_data["codes"].strip()):
            item = find_item(code_of(typed))
            if item is None:
                raise forms.ValidationError(f"No such code here: {typed}. {why_unknown(typed)}")
            if item.part.kind != Part.Kind.FRAME:
                raise forms.ValidationError(f"{item.code} is no frame, it is a {item.part.get_kind_display()}.")
            frames[item.pk] = item
        if len(frames) < 2:
            raise forms.ValidationError("Name at least two frames: one alone shares everything with itself.")
        return list(frames.values())

    def asked(self) -> tuple[list[Item], list[str], int]:
        """Frames, among what, how many days around them."""
        return self.cleaned_data["codes"], self.cleaned_data["among"], self.cleaned_data["days"]
