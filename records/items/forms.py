"""Forms of the stores: shape only; the rules of the works live in the actions."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms
from django.http import HttpRequest

from plant.catalogue.models import Part
from plant.codes import KINDS
from plant.equipment.models import Gauge, Station
from plant.people.acting import ActForm, PhotoField, one_of
from plant.people.queries import works_day, works_zone
from plant.quantities import Quantity, read_quantity
from records.ledger.acts import was_taken
from records.ledger.clock import clock
from records.ledger.refusals import Refused

from .actions.counting import Counted
from .actions.receiving import Delivery
from .code_fields import NewCodeField, ScannedField, TheirLotField, new_code
from .making import Input
from .models import ArrivalFinding, CountReason, Item
from .queries import came_before
from .unlikely import SureField, ask_unlikely


def doubt_in(text: str) -> str:
    """Why an amount may be read two ways, in words; nothing where it can't be.

    A mark before three figures parts thousands in some countries and decimals in others. Kilograms are weighed to the
    gram, so there it is decimals; grams and pieces are not known so finely.

    Examples
    --------
    >>> doubt_in("25.000 g")
    '“25.000 g” may be 25 g or 25000 g. Write one of them, without a mark between thousands.'
    >>> doubt_in("1.250 kg"), doubt_in("0,250 g"), doubt_in("25,5 g")
    ('', '', '')
    """
    if "," in text and "." in text:
        return f"“{text}” has a comma and a point. Write one mark alone, and none between thousands."
    found = _THOUSANDS.fullmatch(text)
    if found is None:
        return ""
    few = f"{found['whole']}.{found['three']}".rstrip("0").rstrip(".") if found["unit"] == "g" else found["whole"]
    many, unit = found["whole"] + found["three"], found["unit"]
    return f"“{text}” may be {few} {unit} or {many} {unit}. Write one of them, without a mark between thousands."


_THOUSANDS = re.compile(r"\s*(?P<whole>[1-9][0-9]{0,2})[.,](?P<three>[0-9]{3})\s*(?P<unit>g|pcs|pc)\s*")


class QuantityField(forms.CharField):
    """An amount as written, with its unit; ``such_as`` shows how."""

    def __init__(self, such_as: str = "500 g", *, hint: str = "", **more: Any) -> None:
        self._such_as = such_as
        super().__init__(help_text=hint or f"With its unit: {such_as}.", **more)

    def clean(self, value: Any) -> Quantity | None:
        text = super().clean(value)
        if text and (wrong := self._wrong(text)):
            raise forms.ValidationError(wrong)
        try:
            return read_quantity(text) if text else None
        except Refused as refused:
            raise forms.ValidationError(str(refused)) from refused

    def _wrong(self, text: str) -> str:
        """What keeps a text from being an amount, where that can be said; nothing is put right in silence."""
        if doubt := doubt_in(text):
            return doubt
        if re.fullmatch(r"[-+−]?[\d.,]+", text):
            return f"“{text}” has no unit. Write it too, as in {self._such_as}."
        return "" if re.search(r"\d", text) else f"“{text}” is no amount. Write figures and the unit: {self._such_as}."


class SwapConsignedForm(ActForm):
    """Two units that lie in each other's carton or consignment."""

    act = "consignments swapped"

    one = forms.ChoiceField(label="Listed here, and lies in the other one")
    other = ScannedField("Lies here, and is listed in the other one")
    words = forms.CharField(
        widget=forms.Textarea({"rows": 3}), label="How it was found", help_text="The auditor will read it."
    )

    def __init__(self, request: HttpRequest, units: Sequence[Item]) -> None:
        super().__init__(request)
        told = [(unit.code, f"{unit.code}, {unit.part.number}") for unit in units]
        first = [("", "Choose")] if len(told) > 1 else []  # nobody swaps the first of a list by not looking
        self.fields["one"].choices = [*first, *told]  # type: ignore[attr-defined]

    def told(self) -> dict[str, str]:
        """The arguments of the act."""
        return {name: self.cleaned_data[name] for name in ("one", "other", "words")}


class CountedField(QuantityField):
    """An amount that was counted or weighed; a bare number is in the unit of the part."""

    def __init__(self, part: Part, label: str) -> None:
        super().__init__(f"12 {part.unit}", required=False, label=label)
        self._unit = part.unit

    def clean(self, value: Any) -> Quantity | None:
        text = str(value or "").strip()
        return super().clean(f"{text} {self._unit}" if text and text[-1].isdigit() else text)


LONGEST_UNIT = 12


class CertificateField(forms.CharField):
    """Values of a certificate, one a line: a name with its value and unit."""

    def __init__(self, label: str = "Values of its certificate", **more: Any) -> None:
        super().__init__(
            widget=forms.Textarea({"rows": 4}),
            label=label,
            help_text="One a line, name = value unit: viscosity = 310 mPa s.",
            **more,
        )

    def clean(self, value: Any) -> list[tuple[str, str, str]]:
        """Lines of the certificate as name, value as written, unit."""
        values = []
        for line in filter(None, map(str.strip, super().clean(value).splitlines())):
            name, _, told = (word.strip() for word in line.partition("="))
            written, _, unit = (word.strip() for word in told.partition(" "))
            if not name or not written or len(name) > 60 or len(written) > 40 or len(unit) > LONGEST_UNIT:
                raise forms.ValidationError(f"“{line}” is no name with its value. Write viscosity = 310 mPa s.")
            values.append((name, written, unit))
        return values


class PackagesField(forms.CharField):
    """Packages that get a label of their own, one a line: the amount, and the code where a label is on already."""

    def __init__(self) -> None:
        super().__init__(
            widget=forms.Textarea({"rows": 3}),
            required=False,
            label="Packages with a label of their own",
            help_text="One a line: 5 kg, with its code where it has one: 5 kg RB-26-000007-4. Or 4 x 5 kg for four.",
        )

    def clean(self, value: Any) -> list[Input]:
        packages: list[Input] = []
        for line in filter(None, map(str.strip, super().clean(value).splitlines())):
            found = _PACKAGE.fullmatch(line)
            if found is None or not 0 < int(found["times"] or 1) <= MOST_PACKAGES:
                raise forms.ValidationError(f"“{line}” is no package. Write 5 kg, or 4 x 5 kg.")
            if doubt := doubt_in(found["amount"]):
                raise forms.ValidationError(doubt)
            try:
                amount, code = read_quantity(found["amount"]), new_code(found["code"]) if found["code"] else ""
            except Refused as refused:
                raise forms.ValidationError(f"“{line}”: {refused}") from refused
            if code and found["times"]:
                raise forms.ValidationError(f"“{line}”: a code belongs to one package. Write each on its own line.")
            packages += [Input(code, amount)] * int(found["times"] or 1)
        return packages


_PACKAGE = re.compile(r"(?:(?P<times>[0-9]{1,3})\s*[xX×]\s*)?(?P<amount>[0-9.,]+\s*[^\s0-9]+)(?:\s+(?P<code>\S+))?")
MOST_PACKAGES = 200


# A last good day that lies further away is a slip: a choice of this project.
MOST_YEARS = 30
MADE_HERE = (*Part.POT_KINDS, Part.Kind.COUPON)


class PartField(forms.ModelChoiceField):
    """A part that can be received, by its number and its name."""

    def __init__(self, **more: Any) -> None:
        super().__init__(Part.objects.none(), to_field_name="number", **more)

    def label_from_instance(self, part: Part) -> str:
        return f"{part.number}, {part.name}" if part.name else part.number


class LastDayField(forms.DateField):
    """The last good day, as it may stand on a label."""

    def __init__(self, **more: Any) -> None:
        super().__init__(label="Last good day", help_text="As 2026-12-31.", **more)

    def clean(self, value: Any) -> date | None:
        day: date | None = super().clean(value)
        if day is not None and abs(day.year - works_day(clock.now()).year) > MOST_YEARS:
            raise forms.ValidationError(
                f"{day.isoformat()} is more than {MOST_YEARS} years from today. Write it again."
            )
        return day


class ReceiveForm(ActForm):
    """What came, from whom, how much, how it came, and how long it is good. Without a code the house makes one."""

    act = "lot received"

    part = PartField(label="What it is")
    amount = QuantityField("20 kg", hint="With its unit: 20 kg, 60 pcs.", label="How much came")
    supplier = forms.CharField(max_length=80, label="From whom")
    supplier_lot = TheirLotField()
    delivery_note = forms.CharField(max_length=40, required=False, label="Delivery note")
    expires_on = LastDayField(required=False)
    code = NewCodeField()
    station = forms.ModelChoiceField(
        Station.objects.none(), to_field_name="code", required=False, label="Where it is put"
    )
    temperature = QuantityField("-18 °C", required=False, label="Temperature on arrival")
    packages = PackagesField()
    findings = forms.MultipleChoiceField(
        choices=ArrivalFinding.What.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="What was wrong with it",
        help_text="None, if it came as it should. With any of these it waits in quarantine until that is answered.",
    )
    words = forms.CharField(required=False, widget=forms.Textarea({"rows": 2}), label="What you saw")
    certificate = CertificateField(required=False)
    label_photo = PhotoField("Photo of its label")
    certificate_photo = PhotoField("Photo of its certificate")
    again = forms.BooleanField(required=False, label="It is one more delivery of that lot", widget=forms.HiddenInput)
    sure = SureField()

    def __init__(self, request: Any) -> None:
        super().__init__(request)
        received = Part.objects.filter(tracked=Part.Tracked.LOT).exclude(kind__in=MADE_HERE)
        self.fields["part"].queryset = received.order_by("number")  # type: ignore[attr-defined]
        self.fields["station"].queryset = Station.objects.order_by("name", "code")  # type: ignore[attr-defined]

    def clean_temperature(self) -> Quantity | None:
        """A temperature, and nothing else."""
        told: Quantity | None = self.cleaned_data["temperature"]
        if told is not None and told.unit_kind != "temperature":
            raise forms.ValidationError("This is no temperature. Write -18 °C.")
        return told

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        part = told.get("part")
        codes = {"code": [told.get("code") or ""], "packages": [one.code for one in told.get("packages") or ()]}
        for field, code in ((field, code) for field, found in codes.items() for code in found):
            kind = KINDS.get(code[:2]) if code[2:3] == "-" else None
            if part is not None and kind and part.prefix and code[:2] != part.prefix:
                self.add_error(field, f"A code like {code} belongs to a {kind}, not to {part}. Look at the label.")
        self._ask_again(told)
        if part is not None and told.get("amount") and told.get("key") and not was_taken(told["key"]):
            ask_unlikely(self, told, part)
        return told

    def _ask_again(self, told: dict[str, Any]) -> None:
        """A lot that is booked in twice would count twice: whoever books it in says that it came once more."""
        if not all(told.get(name) for name in ("key", "part", "supplier", "supplier_lot")) or was_taken(told["key"]):
            return
        before = came_before(told["part"], told["supplier"], told["supplier_lot"])
        if before is None:
            return
        self.fields["again"].widget = forms.CheckboxInput()
        if told.get("again"):
            return
        note = f", delivery note {before.delivery_note}" if before.delivery_note else ""
        self.add_error(
            "again",
            f"{before.supplier_lot} of {before.supplier} is booked in already: {before.item.code}, {before.written} on "
            f"{before.at.astimezone(works_zone()):%-d %b}{note}. Tick this where it came once more; else leave it.",
        )

    def delivery(self) -> Delivery:
        """The delivery as it was stated."""
        told = self.cleaned_data
        station = told["station"]
        names = ("supplier", "supplier_lot", "delivery_note", "expires_on", "certificate", "temperature", "packages")
        return Delivery(
            part=told["part"].number,
            quantity=told["amount"],
            station=station.code if station else "",
            findings=told["findings"],
            words=told["words"],
            **{name: told[name] for name in names},
        )


class CountForm(ActForm):
    """Lots at one place, each with what was found of it. What the records say is not shown: it would lead the hand."""

    act = "stock counted"

    scale = forms.ModelChoiceField(
        Gauge.objects.none(),
        to_field_name="code",
        required=False,
        label="Weighed on",
        help_text="Says how far a weighing can be off. Not told: the coarsest scale of the works is taken.",
    )
    other = ScannedField("Another lot that lies here", required=False)
    other_amount = QuantityField(required=False, label="How much of it")

    def __init__(self, request: HttpRequest, lots: Sequence[Item]) -> None:
        super().__init__(request)
        self._lots = {f"lot-{lot.pk}": lot for lot in lots}
        fields = {name: CountedField(lot.part, f"{lot.code}, {lot.part.unit}") for name, lot in self._lots.items()}
        self.fields = fields | self.fields
        self.fields["scale"].queryset = Gauge.objects.filter(unit_kind="mass").order_by("code")  # type: ignore[attr-defined]

    @property
    def lines(self) -> list[tuple[Item, forms.BoundField]]:
        """Each lot with the field of its amount."""
        return [(lot, self[name]) for name, lot in self._lots.items()]

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if bool(told.get("other")) != bool(told.get("other_amount")) and not self.errors:
            self.add_error("other_amount", "Write the other lot's code and its amount, or neither.")
        return told

    @property
    def scale_code(self) -> str:
        """Code of the scale; empty where none is told."""
        scale: Gauge | None = self.cleaned_data["scale"]
        return scale.code if scale else ""

    def told(self) -> list[Counted]:
        """What was counted; a line left empty is not."""
        told = [
            Counted(lot.code, self.cleaned_data[name]) for name, lot in self._lots.items() if self.cleaned_data[name]
        ]
        other, amount = self.cleaned_data["other"], self.cleaned_data["other_amount"]
        return [*told, Counted(other, amount)] if other else told


class ExplainForm(ActForm):
    """Why a count differs from the records."""

    act = "count explained"

    why = one_of(CountReason.Why.choices, "Why it differs")
    words = forms.CharField(
        required=False, widget=forms.Textarea({"rows": 3}), label="In words", help_text="The auditor will read it."
    )
