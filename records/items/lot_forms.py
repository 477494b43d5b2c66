"""Forms about one lot, tank or bin: decided on, split, moved, kept, charged, drawn, written off, sent back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from django import forms

from plant.catalogue.models import CertificateLimit
from plant.equipment.models import Station
from plant.people.acting import ActForm, PhotoField, SigningForm, one_of
from plant.people.queries import works_zone
from plant.quantities import Quantity
from plant.times import read_time
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.refusals import Refused

from .actions.deciding import accept_lot, last_decision, reject_lot, release_at_risk
from .certificates import Asked
from .code_fields import NewCodeField, ScannedField
from .forms import LONGEST_UNIT, CertificateField, QuantityField
from .gates import ask_amount
from .models import Item, LifeEntry, LotDecision
from .queries import item_by_code

REASON = "The auditor will read it."


class PastField(forms.CharField):
    """A moment that has been, by the works' clock; none where nothing is written."""

    def __init__(self, label: str, hint: str = "By the works’ clock.", **more: Any) -> None:
        widget = forms.TextInput({"type": "datetime-local"})
        super().__init__(label=label, help_text=hint, widget=widget, **more)

    def clean(self, value: Any) -> datetime | None:
        text = super().clean(value).strip()
        if not text:
            return None
        try:
            moment = read_time(text, works_zone())
        except (Refused, OverflowError) as wrong:
            raise forms.ValidationError(str(wrong)) from wrong
        if moment > clock.now():
            raise forms.ValidationError("This moment has not come yet. Write when it was.")
        return moment


class TellingForm(ActForm):
    """An act that may have happened already, now or earlier: then it is kept and marked where a gate would have stopped
    it. When it happened matters: a freezer's door, a cleaning before a charge."""

    done = forms.BooleanField(
        required=False,
        label="It has been done already",
        help_text="Then it is kept as it was, and marked where the records say otherwise.",
    )
    when = PastField("When it was done", "By the works’ clock. Empty: now.", required=False)

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        self.order_fields([name for name in self.fields if name not in ("done", "when")] + ["done", "when"])

    def said(self) -> Said:
        when = self.cleaned_data["when"]
        if when is None:
            return replace(super().said(), done=self.cleaned_data["done"])
        return replace(super().said(), at=when, done=True)


class SeenForm(ActForm):
    """A decision on a lot, beside the one that its page showed: another's in the meantime is told before it is put
    aside by a second press."""

    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, request: Any, lot: Item) -> None:
        self.lot = lot
        super().__init__(request, initial={"seen": self._last()})

    def _last(self) -> str:
        last = last_decision(self.lot)
        return str(last.pk if last else 0)

    def clean_seen(self) -> int | None:
        """Number of the decision that stood; none from a page that does not tell."""
        told = self.cleaned_data["seen"]
        return int(told) if told.isdecimal() else None

    def acted(self, action: Callable[[Said], Any]) -> bool:
        if super().acted(action):
            return True
        if self.refused == "decided-meanwhile":  # the page now shows what stands: a press from here on has seen it
            fresh = {"seen": self._last(), "drawn_at": clock.now().isoformat()}
            self.data = {name: self.data[name] for name in self.data} | fresh
        return False


CHOICES = {"accept": "Accept it: it may be used", "reject": "Reject it: it may not be used"}


class DecideForm(SeenForm):
    """Whether a received lot may be used, and why not."""

    act = "lot accepted"

    choice = one_of(CHOICES.items(), "What becomes of it")
    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}),
        required=False,
        label="Why",
        help_text="Needed to reject it. The auditor will read it.",
    )

    def leave_out(self, decided: str) -> None:
        """What a lot is already is not offered again."""
        self.fields["choice"].choices = [pair for pair in CHOICES.items() if pair[0] != decided]  # type: ignore[attr-defined]

    def decide(self, said: Said) -> LotDecision:
        """The decision, by the action that belongs to it."""
        told = self.cleaned_data
        decided = reject_lot if told["choice"] == "reject" else accept_lot
        return decided(self.lot.code, words=told["words"], seen=told["seen"], said=said)


class RiskForm(SigningForm, SeenForm):
    """A lot released before it is acceptable: how much, until when and why. Who signs has approved it."""

    act = "lot released at risk"

    limit = QuantityField("2 kg", hint="With its unit: 2 kg. What was taken already counts.", label="How much at most")
    until = forms.CharField(
        label="Until when", help_text="By the works’ clock.", widget=forms.TextInput({"type": "datetime-local"})
    )
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="Why", help_text="The auditor will read it.")

    def clean_until(self) -> datetime:
        """The end of the release, by the works' clock."""
        try:
            return read_time(self.cleaned_data["until"].strip(), works_zone())
        except (Refused, OverflowError) as wrong:
            raise forms.ValidationError(str(wrong)) from wrong

    def release(self, said: Said) -> LotDecision:
        """The release, as it was stated."""
        told = {name: self.cleaned_data[name] for name in ("limit", "until", "words", "seen")}
        return release_at_risk(self.lot.code, **told, said=said)


class AskedField(forms.CharField):
    """A value that a part asks for of a certificate; one written with a unit of its own keeps that."""

    def __init__(self, limit: CertificateLimit) -> None:
        self.limit = limit
        asked = Asked(limit.name, limit.unit, limit.lower, limit.upper).words
        label = limit.name[:1].upper() + limit.name[1:]
        super().__init__(required=False, max_length=40, label=label, help_text=f"Asked: {asked}. As it stands there.")

    def clean(self, value: Any) -> tuple[str, str]:
        """Value as written, and its unit."""
        written, _, unit = super().clean(value).partition(" ")
        if len(unit.strip()) > LONGEST_UNIT:
            raise forms.ValidationError(f"“{unit.strip()}” is no unit. Write the value, and its unit if it is another.")
        return written, unit.strip() or self.limit.unit


class CertificateForm(ActForm):
    """Values of a certificate that came after its goods: a field for each that the part asks for, and any other."""

    act = "certificate read"

    values = CertificateField(required=False, label="Other values")
    photo = PhotoField("Photo of its certificate")

    def __init__(self, request: Any, lot: Item) -> None:
        super().__init__(request)
        limits = lot.revision.certificate_limits.order_by("pk")
        self._asked = {f"asked-{limit.pk}": AskedField(limit) for limit in limits}
        self.fields = self._asked | self.fields

    def told(self) -> list[tuple[str, str, str]]:
        """Every value as name, value as written, unit."""
        found = [(field.limit.name, *self.cleaned_data[name]) for name, field in self._asked.items()]
        return [one for one in found if one[1]] + self.cleaned_data["values"]


class SplitForm(TellingForm):
    """An amount split off a lot, as a lot of its own."""

    act = "lot split"

    amount = QuantityField(label="How much")
    code = NewCodeField()


class MergeForm(TellingForm):
    """Two lots of one part put together, as a lot of its own."""

    act = "lots merged"

    amount = QuantityField(label="How much of this one")
    other = ScannedField("The other lot")
    other_amount = QuantityField(label="How much of the other")
    code = NewCodeField()

    def inputs(self, lot: Item) -> list[tuple[Item, Quantity]]:
        """What is put together: each lot with its amount. Refuses ``itself`` for the same lot twice."""
        told, other = self.cleaned_data, item_by_code(self.cleaned_data["other"])
        if other == lot:
            raise Refused("itself", "%(code)s is the lot of this page. Scan the other one.", code=lot.code)
        return [(lot, told["amount"]), (other, told["other_amount"])]


class MoveForm(TellingForm):
    """A lot comes to another place."""

    act = "item moved"

    station = forms.ModelChoiceField(Station.objects.none(), to_field_name="code", label="Where it goes")

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        self.fields["station"].queryset = Station.objects.order_by("name", "code")  # type: ignore[attr-defined]


class KeepForm(TellingForm):
    """A package opened, or a lot out of the freezer or into it."""

    act = "keeping logged"

    what = one_of(LifeEntry.What.choices, "What was done")


class ExtendForm(SigningForm):
    """A later last good day, by the certificate of a test."""

    act = "life extended"

    until = forms.DateField(label="Good until", help_text="As 2026-12-31.")
    certificate = forms.CharField(max_length=80, label="Number of the certificate")
    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}), label="What was tested, with which result", help_text=REASON
    )
    photo = PhotoField("Photo of the certificate")

    def told(self) -> dict[str, date | str]:
        """What was stated."""
        return {name: self.cleaned_data[name] for name in ("until", "certificate", "words")}


class ScrapForm(TellingForm):
    """A lot written off, the whole or an amount."""

    act = "item scrapped"

    amount = QuantityField(required=False, label="How much", hint="With its unit: 500 g. Empty: all that is left.")
    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="Why", help_text=REASON)

    def of(self, lot: Item, said: Said) -> dict[str, Any]:
        """What was stated of a lot; no quantity means all that is left. Refuses more than it holds before the act."""
        quantity = self.cleaned_data["amount"]
        if quantity is not None:
            ask_amount(lot, quantity, said)
        return {"quantity": quantity, "words": self.cleaned_data["words"]}


class BackForm(ScrapForm):
    """A lot that goes back to its supplier, the whole or an amount."""

    act = "lot sent back"

    words = forms.CharField(widget=forms.Textarea({"rows": 3}), label="Why, and with which papers", help_text=REASON)


class ChargeForm(TellingForm):
    """A lot that goes into a tank or bin."""

    act = "tank charged"

    lot = ScannedField("Lot that goes in")
    amount = QuantityField("6 kg", label="How much")


class DrawForm(TellingForm):
    """An amount drawn from a tank or bin, as a lot of its own."""

    act = "tank drawn"

    amount = QuantityField(label="How much")
    code = NewCodeField()


class CleanForm(TellingForm):
    """A tank or bin emptied and cleaned."""

    act = "tank cleaned"
