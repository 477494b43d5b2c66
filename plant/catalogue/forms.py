"""Forms of the set-up: a change is stated whole, as it is to stand, with the reason for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from decimal import Decimal, InvalidOperation
from typing import Any, ClassVar

from django import forms

from plant.codes import KINDS as PREFIXES
from plant.equipment.models import Tool
from plant.people.acting import ActForm
from plant.quantities import UNITS

from . import specs
from .carriers import Carrier
from .models import CharacteristicRevision, Part

UNIT_CHOICES = [(unit, unit) for units in UNITS.values() for unit in units]
SPARE_ROWS = 3


class ProposeForm(ActForm):
    """A change put forward. ``spec`` is what it states."""

    act = "change proposed"
    title: ClassVar[str] = ""
    hint: ClassVar[str] = ""

    reason = forms.CharField(
        widget=forms.Textarea({"rows": 3}), label="Why it changes", help_text="The approver and the auditor read it."
    )

    def __init__(self, request: Any, standing: specs.Proposable | None = None) -> None:
        super().__init__(request, initial=self.stated(standing) if standing else None)
        self.order_fields([name for name in self.fields if name != "reason"] + ["reason"])

    @staticmethod
    def stated(standing: Any) -> Mapping[str, Any]:
        """What stands, as the fields show it."""
        return asdict(standing)

    @property
    def lines(self) -> list[tuple[str, list[Any]]]:
        """Fields that belong together in lines, each with the name of its line; most forms have none."""
        return []

    @property
    def plain_fields(self) -> list[Any]:
        """Fields that stand for themselves, the reason last."""
        in_lines = {field.name for _, fields in self.lines for field in fields}
        return [field for field in self.visible_fields() if field.name not in in_lines]

    def spec(self) -> specs.Proposable:
        """The change as it was stated."""
        raise NotImplementedError

    def plain(self, *names: str) -> dict[str, Any]:
        """Fields of these names."""
        return {name: self.cleaned_data[name] for name in names}


def _part(label: str, **more: Any) -> forms.CharField:
    return forms.CharField(max_length=40, label=label, **more)


def _lasting(label: str, hint: str) -> forms.CharField:
    return forms.CharField(max_length=20, required=False, label=label, help_text=hint)


class PartForm(ProposeForm):
    """A part or material."""

    title = "a part"
    hint = "Number, kind and unit of a part never change; its revision says that the drawing or the data sheet did."

    number = _part("Number")
    name = forms.CharField(max_length=80, required=False, label="Name")
    kind = forms.ChoiceField(choices=Part.Kind.choices, label="Kind")
    unit = forms.ChoiceField(
        choices=[("", "It has serials"), *UNIT_CHOICES],
        required=False,
        label="Measured in",
        help_text="Preforms, triangles, frames and bladders have serials; all else is measured.",
    )
    code_prefix = forms.ChoiceField(
        choices=[("", "None"), *((code, f"{code}, {word}") for code, word in PREFIXES.items())],
        required=False,
        label="Prefix of the codes that the house makes",
    )
    opened_life = _lasting("Keeps once its package is open", "By its data sheet: 90 d, 12 h.")
    out_life = _lasting("May be out of the freezer, in sum", "By its data sheet: 240 h.")
    thaw = _lasting("Closed, out of the freezer, before it is opened", "By its data sheet: 24 h.")
    certificate = forms.CharField(
        widget=forms.Textarea({"rows": 4}),
        required=False,
        label="What its certificate must say",
        help_text="One a line: name; unit; lower limit; upper limit, with - for none: viscosity; mPa s; 250; 400.",
    )

    @staticmethod
    def stated(standing: Any) -> Mapping[str, Any]:
        lines = (f"{c.name}; {c.unit}; {c.lower or '-'}; {c.upper or '-'}" for c in standing.certificate)
        return asdict(standing) | {"code_prefix": standing.prefix, "certificate": "\n".join(lines)}

    def clean_certificate(self) -> list[specs.CertificateSpec]:
        """Lines of the certificate as limits."""
        limits = []
        for line in filter(None, map(str.strip, self.cleaned_data["certificate"].splitlines())):
            words = [word.strip() for word in line.split(";")]
            if len(words) != 4 or not words[0]:
                raise forms.ValidationError(f"“{line}” is no limit. Write viscosity; mPa s; 250; 400.")
            limits.append(specs.CertificateSpec(words[0], words[1], *("" if w == "-" else w for w in words[2:])))
        names = ["".join(limit.name.split()).casefold() for limit in limits]  # as values are told apart by their names
        for n, limit in enumerate(limits):
            if names[n] in names[:n]:
                raise forms.ValidationError(f"“{limit.name}” stands on two lines. Write it once, with both its limits.")
        return limits

    def spec(self) -> specs.PartSpec:
        names = ("number", "kind", "unit", "name", "opened_life", "out_life", "thaw", "certificate")
        return specs.PartSpec(**self.plain(*names), prefix=self.cleaned_data["code_prefix"])

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("kind") not in Part.UNIT_KINDS and not told.get("unit"):
            self.add_error("unit", "Say what it is measured in.")
        return told


class BandForm(ProposeForm):
    """A measure on a part with its limits and how it is measured."""

    title = "a band"
    hint = "On a limit is inside. What was measured before keeps the band that it was measured under."

    part = _part("Part")
    name = forms.CharField(max_length=40, label="What is measured")
    unit = forms.ChoiceField(choices=UNIT_CHOICES, initial="mm", label="Unit")
    nominal = forms.CharField(max_length=40, required=False, label="Nominal")
    lower = forms.CharField(max_length=40, required=False, label="Lower limit")
    upper = forms.CharField(max_length=40, required=False, label="Upper limit")
    decimals = forms.IntegerField(min_value=0, max_value=6, initial=2, label="Decimals on the drawing")
    gauge_kind = forms.CharField(max_length=20, required=False, label="Kind of gauge")
    method = forms.CharField(max_length=120, required=False, label="How it is measured")
    uncertainty = forms.CharField(max_length=40, required=False, label="Expanded uncertainty of the method, k = 2")
    readings = forms.IntegerField(min_value=1, max_value=20, initial=1, label="Readings a piece")
    worked_out = forms.ChoiceField(
        choices=CharacteristicRevision.WorkedOut.choices, initial="mean", label="Worked out as"
    )
    is_key = forms.BooleanField(required=False, label="A key characteristic")

    def spec(self) -> specs.CharacteristicSpec:
        names = ("name", "part", "unit", "nominal", "lower", "upper", "decimals", "gauge_kind", "method")
        return specs.CharacteristicSpec(**self.plain(*names, "uncertainty", "readings", "worked_out", "is_key"))


class MixForm(ProposeForm):
    """How a pot is mixed."""

    title = "a mix"
    hint = "From the supplier's data sheet, which comes first."

    mix = forms.CharField(max_length=40, label="Name")
    part = _part("What comes out")
    of = forms.CharField(
        widget=forms.Textarea({"rows": 4}),
        label="Components by weight",
        help_text="One a line, the first is the base: RES-24 100, then HRD-24 30.",
    )
    tolerance = forms.CharField(max_length=20, label="Tolerance of each ratio", help_text="As a share: 0.02 is 2 %.")
    pot_life_min = forms.IntegerField(min_value=1, max_value=10_000, label="Pot life in minutes")
    hot_from = forms.CharField(
        max_length=20,
        required=False,
        label="Heats itself from",
        help_text="Mixed mass of which the data sheet warns: 500 g. Empty where it names none.",
    )

    @staticmethod
    def stated(standing: Any) -> Mapping[str, Any]:
        lines = "\n".join(f"{part} {ratio}" for part, ratio in standing.of.items())
        return asdict(standing) | {"of": lines}

    def clean_of(self) -> dict[str, str]:
        found: dict[str, str] = {}
        for line in self.cleaned_data["of"].splitlines():
            words = line.split()
            if len(words) != 2 and words:
                raise forms.ValidationError(f"“{line.strip()}” is no part with its weight. Write RES-24 100.")
            if words:
                found[words[0]] = words[1]
        if len(found) < 2:
            raise forms.ValidationError("A mix has at least two components.")
        return found

    def spec(self) -> specs.MixSpec:
        return specs.MixSpec(**self.plain("mix", "part", "of", "tolerance", "pot_life_min", "hot_from"))


class RulebookForm(ProposeForm):
    """The works' settings: the share cut-off, and what holds by itself."""

    title = "the settings of the works"
    hint = "A flag marks an entry; a hold stops the item too. Neither ever refuses what has been done."
    SCOPES = (
        (0, "marks only"),
        (1, "holds: no use, step, send-out, ship"),
        (2, "holds after this step"),
        (3, "holds shipping"),
    )

    cut_off = forms.CharField(
        max_length=20,
        required=False,
        label="Smallest share of a lot that a trace lists",
        help_text="As a share: 0.001. Empty: every lot stays in the list.",
    )

    def __init__(self, request: Any, standing: specs.Proposable | None = None) -> None:
        super().__init__(request, standing)
        held = standing.holds if isinstance(standing, specs.RulebookSpec) else specs.HOLDS_BY_DEFAULT
        self.causes = {**dict.fromkeys(specs.HOLDS_BY_DEFAULT, 0), **held}
        for cause, scope in self.causes.items():
            self.fields[f"hold-{cause}"] = forms.TypedChoiceField(
                choices=self.SCOPES, coerce=int, initial=scope, label=cause.replace("-", " ").capitalize()
            )
        self.order_fields([name for name in self.fields if name != "reason"] + ["reason"])

    def clean_cut_off(self) -> str:
        text = self.cleaned_data["cut_off"].strip().replace(",", ".")
        try:
            if text and not 0 <= Decimal(text) <= 1:
                raise forms.ValidationError("A share lies between 0 and 1.")
        except InvalidOperation as wrong:
            raise forms.ValidationError("Write a share such as 0.001.") from wrong
        return text

    def spec(self) -> specs.RulebookSpec:
        holds = {cause: self.cleaned_data[f"hold-{cause}"] for cause in self.causes}
        return specs.RulebookSpec(self.cleaned_data["cut_off"], holds)


class RouteForm(ProposeForm):
    """The operations of a part in order, each a block of fields; a block without a name is left out."""

    title = "a route"
    hint = "The first operation makes the part. Units that are on their way keep the route they began with."
    COLUMNS = ("name", "station_kind", "tool_kind", "caution", "inputs", "readings", "runs", "measures")
    MARKS = ("makes_safe", "needs_qualification")
    LAPSE, REST, CARRIER = "good_for_min", "rest_min", "carrier"
    MINUTES: ClassVar[dict[str, tuple[str, str]]] = {
        LAPSE: ("Holds for so many minutes", "A check that lapses, such as a leak test."),
        REST: ("Rests for so many minutes", "At least, before the next step: a cure, a bond, paint."),
    }
    HINTS: ClassVar[dict[str, str]] = {
        "inputs": "Kind, part, amount: fibre FIB-24 180 g; binder",
        "readings": "Name, unit, limits: edge mm 1 3; torque deg - 90; programme text - -",
        "runs": "leak-test, cure",
        "measures": "shell-width",
        "caution": "dust, hot-tool, epoxy, solvent, or your own word",
    }

    part = _part("Part")

    def __init__(self, request: Any, standing: specs.Proposable | None = None) -> None:
        super().__init__(request, standing)
        operations = standing.operations if isinstance(standing, specs.RouteSpec) else ()
        sent = sum(name.startswith("name-") for name in request.POST) if request.method == "POST" else 0
        self.count = min(max(len(operations) + SPARE_ROWS, sent), 40)
        for n in range(1, self.count + 1):
            told = _operation_told(operations[n - 1]) if n <= len(operations) else {}
            self._add_block(n, told)
        self.order_fields([name for name in self.fields if name != "reason"] + ["reason"])

    def _add_block(self, n: int, told: Mapping[str, Any]) -> None:
        for column in self.COLUMNS:
            label = column.replace("_", " ").capitalize()
            self.fields[f"{column}-{n}"] = forms.CharField(
                max_length=400 if column in ("inputs", "readings", "runs", "measures") else 40,
                required=False,
                label=label,
                initial=told.get(column, ""),
                help_text=self.HINTS.get(column, "") if n == 1 else "",
            )
        self.fields[f"tool_kind-{n}"] = forms.ChoiceField(
            choices=[("", "None"), *Tool.Kind.choices],
            required=False,
            label="Tool",
            initial=told.get("tool_kind"),
        )
        for name, (label, hint) in self.MINUTES.items():
            self.fields[f"{name}-{n}"] = forms.IntegerField(
                min_value=1,
                max_value=10_000,
                required=False,
                label=label,
                initial=told.get(name) or None,
                help_text=hint if n == 1 else "",
            )
        self.fields[f"{self.CARRIER}-{n}"] = forms.ChoiceField(
            choices=[("", "As before"), *Carrier.choices],
            required=False,
            label="Known by, from here on",
            initial=told.get(self.CARRIER),
            help_text="What carries the unit's code: it is scanned once, where it changes." if n == 1 else "",
        )
        for mark in self.MARKS:
            self.fields[f"{mark}-{n}"] = forms.BooleanField(
                required=False, label=mark.replace("_", " ").capitalize(), initial=told.get(mark, False)
            )

    @property
    def lines(self) -> list[tuple[str, list[Any]]]:
        names = (*self.COLUMNS, *self.MINUTES, self.CARRIER, *self.MARKS)
        return [(f"Operation {n}", [self[f"{name}-{n}"] for name in names]) for n in range(1, self.count + 1)]

    @staticmethod
    def stated(standing: Any) -> Mapping[str, Any]:
        return {"part": standing.part}

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        told["operations"] = []
        for n in range(1, self.count + 1):
            if not told.get(f"name-{n}"):
                continue
            try:
                told["operations"].append(_operation(told, n))
            except ValueError as wrong:
                self.add_error(str(wrong.args[0]), str(wrong.args[1]))
        if not told["operations"] and not self.errors:
            self.add_error(None, "A route has at least one operation.")
        return told

    def spec(self) -> specs.RouteSpec:
        return specs.RouteSpec(self.cleaned_data["part"], self.cleaned_data["operations"])


def _operation_told(operation: specs.OperationSpec) -> dict[str, Any]:
    """An operation as the fields of a block show it."""
    return {
        **{
            name: getattr(operation, name)
            for name in (
                "name",
                "station_kind",
                "tool_kind",
                "caution",
                *RouteForm.MINUTES,
                RouteForm.CARRIER,
                *RouteForm.MARKS,
            )
        },
        "inputs": "; ".join(f"{i.kind} {i.part} {i.amount}".strip() for i in operation.inputs),
        "readings": "; ".join(f"{r.name} {r.unit} {r.lower or '-'} {r.upper or '-'}" for r in operation.readings),
        "runs": ", ".join(operation.runs),
        "measures": ", ".join(operation.measures),
    }


def _operation(told: Mapping[str, Any], n: int) -> specs.OperationSpec:
    return specs.OperationSpec(
        **{name: told[f"{name}-{n}"] for name in ("name", "station_kind", "tool_kind", "caution", *RouteForm.MARKS)},
        inputs=[_input(one, f"inputs-{n}") for one in _listed(told[f"inputs-{n}"], ";")],
        readings=[_reading(one, f"readings-{n}") for one in _listed(told[f"readings-{n}"], ";")],
        runs=_listed(told[f"runs-{n}"], ","),
        measures=_listed(told[f"measures-{n}"], ","),
        good_for_min=told[f"{RouteForm.LAPSE}-{n}"] or 0,
        rest_min=told[f"{RouteForm.REST}-{n}"] or 0,
        carrier=told[f"{RouteForm.CARRIER}-{n}"],
    )


def _listed(text: str, between: str) -> list[str]:
    return [one.strip() for one in text.split(between) if one.strip()]


def _input(text: str, field: str) -> specs.InputSpec:
    kind, *rest = text.split(maxsplit=2)
    if kind not in Part.Kind.values:
        raise ValueError(field, f"{kind} is no kind of part. One of: {', '.join(Part.Kind.values)}.")
    return specs.InputSpec(kind, rest[0] if rest else "", rest[1] if len(rest) > 1 else "")


def _reading(text: str, field: str) -> specs.ReadingSpec:
    words = text.split()
    if len(words) != 4:
        raise ValueError(field, f"“{text}” is no reading. Write name, unit, lower and upper limit; - for none.")
    name, unit, lower, upper = words
    return specs.ReadingSpec(name, unit, "" if lower == "-" else lower, "" if upper == "-" else upper)


class ApproveForm(ActForm):
    """Approve what somebody else proposed."""

    act = "change approved"
