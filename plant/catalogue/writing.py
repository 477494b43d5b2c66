"""Rows of the set-up from what was stated; each function takes the open act and the proposal the rows belong to."""

from __future__ import annotations

from decimal import Decimal

from plant import quantities
from plant.codes import fold
from records.ledger.acts import Act
from records.ledger.refusals import Refused

from . import specs
from .carriers import Carrier
from .models import (
    CertificateLimit,
    Characteristic,
    CharacteristicRevision,
    HoldRule,
    MixComponent,
    MixHeat,
    MixRevision,
    Operation,
    OperationAsk,
    OperationCarrier,
    OperationInput,
    OperationLapse,
    OperationReading,
    OperationRest,
    Part,
    PartRevision,
    Proposal,
    RecipeRevision,
    RecipeRule,
    RouteRevision,
    RulebookRevision,
    Tank,
)
from .queries import part_by_number


def bound(text: str, unit: str, unit_kind: str) -> int | None:
    """A limit in whole steps; none where none is written."""
    return quantities.steps_of(text, unit, unit_kind) if text else None


def write_part(a: Act, proposal: Proposal, spec: specs.PartSpec, revision: str) -> PartRevision:
    """A part, unless it stands already, and its revision."""
    number = fold(spec.number)
    part = Part.objects.filter(number=number).first()
    if part is None:
        if spec.kind not in Part.Kind.values:
            raise Refused("wrong-kind", "%(kind)s is no kind of part. See the list.", kind=spec.kind)
        is_unit = spec.kind in Part.UNIT_KINDS
        part = a.write(
            Part(
                number=number,
                name=spec.name,
                kind=spec.kind,
                tracked=Part.Tracked.UNIT if is_unit else Part.Tracked.LOT,
                unit_kind="" if is_unit else quantities.kind_of_unit(spec.unit),
                unit="" if is_unit else spec.unit,
                prefix=spec.prefix,
            )
        )
    row = a.write(
        PartRevision(
            proposal=proposal,
            revision=revision,
            part=part,
            opened_life_ms=_lasting(spec.opened_life),
            out_life_ms=_lasting(spec.out_life),
            thaw_ms=_lasting(spec.thaw),
        )
    )
    a.write_all(_certificate_limit(row, limit) for limit in spec.certificate)
    return row


def _lasting(text: str) -> int | None:
    """A time that something lasts, "90 d" or "240 h". [ms] Refuses what is none, and nothing or less."""
    if not text:
        return None
    steps = quantities.read_quantity(text, "time").steps
    if steps <= 0:
        raise Refused("not-a-number", "“%(text)s” is no time that something lasts. Write 90 d or 240 h.", text=text)
    return steps


def _certificate_limit(row: PartRevision, spec: specs.CertificateSpec) -> CertificateLimit:
    lower, upper = (quantities.millionths(text) if text else None for text in (spec.lower, spec.upper))
    if lower is None and upper is None:
        raise Refused("no-limit", "Write a limit for %(name)s, or leave it out.", name=spec.name)
    if lower is not None and upper is not None and lower > upper:
        raise Refused("band-upside-down", "The lower limit lies above the upper. Write them again.")
    return CertificateLimit(revision=row, name=spec.name, unit=spec.unit, lower=lower, upper=upper)


def write_mix(a: Act, proposal: Proposal, spec: specs.MixSpec, revision: str) -> MixRevision:
    """A mix with its components; ratios are kept per hundred parts, in parts per billion of that."""
    mix = a.write(
        MixRevision(
            proposal=proposal,
            revision=revision,
            mix=spec.mix,
            part=part_by_number(spec.part),
            pot_life_ms=spec.pot_life_min * 60_000,
        )
    )
    if spec.hot_from:
        a.write(MixHeat(mix_revision=mix, from_mass=quantities.read_quantity(spec.hot_from).steps))
    tolerance = quantities.read_decimal(spec.tolerance)
    for n, (number, ratio) in enumerate(spec.of.items(), start=1):
        ratio_ppb = int(quantities.read_decimal(ratio) * 10**7)
        play = int(ratio_ppb * tolerance)
        part = part_by_number(number)
        a.write(MixComponent(mix_revision=mix, n=n, part=part, ratio_ppb=ratio_ppb, plus_ppb=play, minus_ppb=play))
    return mix


def write_tank(a: Act, spec: specs.TankSpec) -> Tank:
    """A tank or bin."""
    return a.write(Tank(code=fold(spec.code), kind=spec.kind, part=part_by_number(spec.part)))


def write_characteristic(
    a: Act, proposal: Proposal, spec: specs.CharacteristicSpec, revision: str
) -> CharacteristicRevision:
    """A characteristic and its band; each bound is worked out here, once, in whole steps."""
    part = part_by_number(spec.part)
    characteristic = Characteristic.objects.filter(part=part, name=spec.name).first()
    characteristic = characteristic or a.write(Characteristic(part=part, name=spec.name))
    kind = quantities.kind_of_unit(spec.unit)
    nominal = bound(spec.nominal, spec.unit, kind)
    lower, upper = bound(spec.lower, spec.unit, kind), bound(spec.upper, spec.unit, kind)
    if nominal is not None and spec.minus:
        lower = nominal - quantities.steps_of(spec.minus, spec.unit, kind, difference=True)
    if nominal is not None and spec.plus:
        upper = nominal + quantities.steps_of(spec.plus, spec.unit, kind, difference=True)
    if lower is not None and upper is not None and lower > upper:
        raise Refused("band-upside-down", "The lower limit lies above the upper. Write them again.")
    return a.write(
        CharacteristicRevision(
            proposal=proposal,
            revision=revision,
            characteristic=characteristic,
            unit_kind=kind,
            unit=spec.unit,
            nominal=nominal,
            lower=lower,
            upper=upper,
            decimals=spec.decimals,
            gauge_kind=spec.gauge_kind,
            method=spec.method,
            uncertainty=bound(spec.uncertainty, spec.unit, kind),
            readings=spec.readings,
            worked_out=spec.worked_out,
            is_key=spec.is_key,
        )
    )


def write_route(a: Act, proposal: Proposal, spec: specs.RouteSpec, revision: str) -> RouteRevision:
    """A route with its operations, and what each asks for."""
    route = a.write(RouteRevision(proposal=proposal, revision=revision, part=part_by_number(spec.part)))
    operations = a.write_all(
        Operation(
            route_revision=route,
            n=n,
            name=operation.name,
            station_kind=operation.station_kind,
            tool_kind=operation.tool_kind,
            caution=operation.caution,
            makes_safe=operation.makes_safe,
            needs_qualification=operation.needs_qualification,
        )
        for n, operation in enumerate(spec.operations, start=1)
    )
    if operations and spec.operations[-1].rest_min:
        words = "Nothing comes after %(operation)s on this route, so nobody would ask for its rest. Leave it out."
        raise Refused("wrong-kind", words, operation=operations[-1].name)
    for row, operation in zip(operations, spec.operations, strict=True):
        _write_demands(a, row, operation)
    return route


def _write_demands(a: Act, row: Operation, spec: specs.OperationSpec) -> None:
    for wanted in spec.inputs:
        amount = quantities.read_quantity(wanted.amount).steps if wanted.amount else None
        part = part_by_number(wanted.part) if wanted.part else None
        a.write(OperationInput(operation=row, kind=wanted.kind, part=part, amount=amount))
    if spec.good_for_min:
        a.write(OperationLapse(operation=row, good_for_ms=spec.good_for_min * 60_000))
    if spec.rest_min:
        a.write(OperationRest(operation=row, least_ms=spec.rest_min * 60_000))
    if spec.carrier:
        _write_carrier(a, row, spec)
    for reading in spec.readings:
        is_text = reading.unit == quantities.TEXT
        kind = quantities.TEXT if is_text else quantities.kind_of_unit(reading.unit)
        if is_text and (reading.lower or reading.upper):
            raise Refused("wrong-kind", "%(name)s is read in words and has no limits.", name=reading.name)
        lower, upper = bound(reading.lower, reading.unit, kind), bound(reading.upper, reading.unit, kind)
        a.write(
            OperationReading(
                operation=row, name=reading.name, unit_kind=kind, unit=reading.unit, lower=lower, upper=upper
            )
        )
    for what, names in ((OperationAsk.What.RUN, spec.runs), (OperationAsk.What.MEASURE, spec.measures)):
        a.write_all(OperationAsk(operation=row, what=what, name=name) for name in names)


def _write_carrier(a: Act, row: Operation, spec: specs.OperationSpec) -> None:
    """What holds the identity from an operation on. Refuses ``wrong-kind`` for what is no carrier, and for no tool."""
    if spec.carrier not in Carrier.values:
        words = "%(carrier)s carries no identity. One of: %(these)s."
        raise Refused("wrong-kind", words, carrier=spec.carrier, these=", ".join(Carrier.values))
    if spec.carrier == Carrier.TOOL and not spec.tool_kind:
        words = "%(operation)s is done without a tool: nothing of it can stand for the unit."
        raise Refused("wrong-kind", words, operation=spec.name)
    a.write(OperationCarrier(operation=row, kind=spec.carrier))


def write_recipe(a: Act, proposal: Proposal, spec: specs.RecipeSpec, revision: str) -> RecipeRevision:
    """A recipe with its rules."""
    recipe = a.write(RecipeRevision(proposal=proposal, revision=revision, recipe=fold(spec.recipe), kind=spec.kind))
    for rule in spec.rules:
        kind = quantities.kind_of_unit(rule.unit)
        level_unit = rule.level_unit or rule.unit
        a.write(
            RecipeRule(
                recipe_revision=recipe,
                feature=rule.feature,
                role=rule.role,
                unit_kind=kind,
                level=bound(rule.level, level_unit, quantities.kind_of_unit(level_unit)),
                lower=bound(rule.lower, rule.unit, kind),
                upper=bound(rule.upper, rule.unit, kind),
            )
        )
    return recipe


def write_rulebook(a: Act, proposal: Proposal, spec: specs.RulebookSpec, revision: str) -> RulebookRevision:
    """The works' settings."""
    cut_off = int(Decimal(spec.cut_off) * 10**9) if spec.cut_off else None
    rulebook = a.write(RulebookRevision(proposal=proposal, revision=revision, cut_off_ppb=cut_off))
    a.write_all(HoldRule(rulebook=rulebook, cause=cause, scope=scope) for cause, scope in spec.holds.items())
    return rulebook


WRITERS = {
    specs.PartSpec: write_part,
    specs.MixSpec: write_mix,
    specs.CharacteristicSpec: write_characteristic,
    specs.RouteSpec: write_route,
    specs.RecipeSpec: write_recipe,
    specs.RulebookSpec: write_rulebook,
}
