"""A revision in force written back as it was stated, so that a change is proposed from what stands."""

from __future__ import annotations

from plant.quantities import TEXT, UNITS, print_amount, print_millionths, print_steps

from . import specs
from .carriers import Carrier
from .models import (
    CertificateLimit,
    CharacteristicRevision,
    HoldRule,
    MixHeat,
    MixRevision,
    Operation,
    OperationAsk,
    PartRevision,
    RecipeRevision,
    RecipeRule,
    RouteRevision,
    RulebookRevision,
)
from .queries import carrier_from, good_for_ms, rest_ms


def _limit(steps: int | None, unit: str, kind: str) -> str:
    return "" if steps is None else print_steps(steps, unit, kind)


def part_spec(row: PartRevision) -> specs.PartSpec:
    """A part as stated."""
    part = row.part
    return specs.PartSpec(
        part.number,
        part.kind,
        part.unit,
        part.name,
        part.prefix,
        opened_life=_lasting(row.opened_life_ms),
        out_life=_lasting(row.out_life_ms),
        thaw=_lasting(row.thaw_ms),
        certificate=[limit_spec(limit) for limit in row.certificate_limits.all()],
    )


def limit_spec(row: CertificateLimit) -> specs.CertificateSpec:
    """What a certificate must say of a value, as stated."""
    return specs.CertificateSpec(row.name, row.unit, _millionths(row.lower), _millionths(row.upper))


def keeping_words(row: PartRevision) -> str:
    """How a lot keeps, by its data sheet; empty where a last good day says it all."""
    opened, out, thaw = map(_lasting, (row.opened_life_ms, row.out_life_ms, row.thaw_ms))
    told = [f"open {opened}" if opened else "", f"out of the freezer {out}" if out else ""]
    return ", ".join(filter(None, [*told, f"thaws closed {thaw}" if thaw else ""]))


def _millionths(steps: int | None) -> str:
    return "" if steps is None else print_millionths(steps)


def _lasting(ms: int | None) -> str:
    """A time that something lasts, in days where they are whole, else in hours or minutes."""
    if ms is None:
        return ""
    unit = next((unit for unit in ("d", "h", "min") if ms % UNITS["time"][unit] == 0), "s")
    return f"{print_steps(ms, unit, 'time')} {unit}"


def band_spec(row: CharacteristicRevision) -> specs.CharacteristicSpec:
    """A band as stated, by its limits."""
    unit, kind = row.unit, row.unit_kind
    uncertainty = "" if row.uncertainty is None else print_steps(row.uncertainty, unit, kind, difference=True)
    return specs.CharacteristicSpec(
        name=row.characteristic.name,
        part=row.characteristic.part.number,
        unit=unit,
        nominal=_limit(row.nominal, unit, kind),
        lower=_limit(row.lower, unit, kind),
        upper=_limit(row.upper, unit, kind),
        decimals=row.decimals,
        gauge_kind=row.gauge_kind,
        method=row.method,
        uncertainty=uncertainty,
        readings=row.readings,
        worked_out=row.worked_out,
        is_key=row.is_key,
    )


def mix_spec(row: MixRevision) -> specs.MixSpec:
    """A mix as stated."""
    components = list(row.components.select_related("part").order_by("n"))
    share = max((c.plus_ppb / c.ratio_ppb for c in components if c.ratio_ppb), default=0)
    ratios = {c.part.number: print_steps(c.ratio_ppb, "phr", "ratio") for c in components}
    heat = MixHeat.objects.filter(mix_revision=row).first()
    hot_from = f"{print_steps(heat.from_mass, 'g', 'mass')} g" if heat else ""
    return specs.MixSpec(row.mix, row.part.number, ratios, f"{share:.9g}", row.pot_life_ms // 60_000, hot_from)


def route_spec(row: RouteRevision) -> specs.RouteSpec:
    """A route as stated."""
    operations = (
        row.operations.order_by("n")
        .select_related("lapse", "rest", "carrier")
        .prefetch_related("inputs__part", "readings", "asks")
    )
    return specs.RouteSpec(row.part.number, [operation_spec(operation) for operation in operations])


def operation_spec(row: Operation) -> specs.OperationSpec:
    """An operation as stated."""
    asks = list(row.asks.all())
    return specs.OperationSpec(
        name=row.name,
        station_kind=row.station_kind,
        tool_kind=row.tool_kind,
        caution=row.caution,
        makes_safe=row.makes_safe,
        needs_qualification=row.needs_qualification,
        inputs=[
            specs.InputSpec(
                wanted.kind,
                wanted.part.number if wanted.part else "",
                print_amount(wanted.amount, wanted.part.unit, wanted.part.unit_kind)
                if wanted.amount and wanted.part
                else ("" if wanted.amount is None else f"{print_steps(wanted.amount, 'g', 'mass')} g"),
            )
            for wanted in row.inputs.all()
        ],
        readings=[
            specs.ReadingSpec(
                r.name, r.unit, _limit(r.lower, r.unit, r.unit_kind), _limit(r.upper, r.unit, r.unit_kind)
            )
            for r in row.readings.all()
        ],
        runs=[ask.name for ask in asks if ask.what == OperationAsk.What.RUN],
        measures=[ask.name for ask in asks if ask.what == OperationAsk.What.MEASURE],
        good_for_min=good_for_ms(row) // 60_000,
        rest_min=rest_ms(row) // 60_000,
        carrier=carrier_from(row),
    )


def rulebook_spec(row: RulebookRevision) -> specs.RulebookSpec:
    """The settings as stated."""
    cut_off = "" if row.cut_off_ppb is None else f"{row.cut_off_ppb / 10**9:.9f}".rstrip("0").rstrip(".")
    rules = HoldRule.objects.filter(rulebook=row)
    return specs.RulebookSpec(cut_off, dict(rules.values_list("cause", "scope")))


def lines_of(spec: specs.Proposable) -> list[tuple[str, str]]:
    """What a spec states, field by field; fields left empty are left out."""
    lines = []
    for name, value in vars(spec).items():
        if isinstance(value, dict):
            value = ", ".join(f"{key} {told}" for key, told in value.items())
        if name == "certificate":
            value = "; ".join(map(str, value))
        if value not in ("", None, ()):
            lines.append((name.replace("_", " "), str(value)))
    return lines


def route_lines(row: RouteRevision) -> list[tuple[str, str]]:
    """The operations of a route in order, each with what it asks for."""
    return [
        ("part", row.part.number),
        *((str(n), _operation_words(o)) for n, o in enumerate(route_spec(row).operations, 1)),
    ]


def _operation_words(spec: specs.OperationSpec) -> str:
    told = [spec.name, spec.station_kind and f"at {spec.station_kind}", spec.tool_kind and f"with {spec.tool_kind}"]
    told += [f"in goes {i.kind} {i.part} {i.amount}".rstrip() for i in spec.inputs]
    told += [
        f"read {r.name} in words" if r.unit == TEXT else f"read {r.name} {r.lower or '…'} to {r.upper or '…'} {r.unit}"
        for r in spec.readings
    ]
    told += [f"run {name}" for name in spec.runs] + [f"measure {name}" for name in spec.measures]
    told += [spec.caution and f"caution {spec.caution}", "makes safe" if spec.makes_safe else ""]
    told += [f"holds for {spec.good_for_min} min" if spec.good_for_min else ""]
    told += [f"then rests {spec.rest_min} min at least" if spec.rest_min else ""]
    told += [f"known by {Carrier(spec.carrier).label} from here on" if spec.carrier else ""]
    told += ["needs qualification" if spec.needs_qualification else ""]
    return "; ".join(word for word in told if word)


def recipe_lines(row: RecipeRevision) -> list[tuple[str, str]]:
    """A recipe with the features that it limits; the limits themselves are told by the room that knows the curves."""
    rules = RecipeRule.objects.filter(recipe_revision=row).order_by("pk")
    names = ", ".join(rule.feature.replace("-", " ") for rule in rules)
    return [("recipe", row.recipe), ("kind", row.kind), ("limits on", names)]
