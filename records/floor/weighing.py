"""A pot is weighed: each part of the mix against its own ratio, and the number that the pot gets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as noop

from plant.catalogue.models import (
    MixComponent,
    MixHeat,
    Operation,
    OperationInput,
    Part,
    RouteRevision,
)
from plant.catalogue.queries import mix_in_force, mix_names, route_of
from plant.codes import fold
from plant.equipment.models import Gauge
from plant.quantities import print_steps
from plant.speaking import say
from records.items.actions.pots import due_mass, step_of_scale
from records.items.models import Item
from records.items.queries import HERE
from records.ledger.clock import clock
from records.steps.checks import Check, before, checks_of_all
from records.steps.models import Waiting

from .asking import Choice, Question, Told, ask_scale
from .bands import Band
from .going_in import ask_lots, by_another
from .pieces import One, Payload, keys_data, lots_told, number_of

OFF_RATIO = (
    Choice("again", noop("Weigh it again"), noop("Nothing is kept of this weight.")),
    Choice("done", noop("It is mixed already"), noop("It is kept and marked, and Review is told.")),
)


def coarse() -> tuple[Choice, ...]:
    """What may be told where the scale can't judge a part of the mix."""
    return (
        Choice("again", _("Take the fine scale"), _("Nothing is kept of this weight.")),
        Choice("done", _("It is weighed already"), _("It is kept and marked, and Review is told.")),
    )


def unready() -> tuple[Choice, ...]:
    """What may be told where no closed mould waits for a pot."""
    return (
        Choice("again", _("Not yet: a mould is closed and tested first"), _("Nothing is kept.")),
        Choice("as", _("Mix it all the same"), _("It is for something else.")),
    )


class Mixed:
    """The components of a mix, each weighed against what is due for the first, and each mass read twice."""

    def asks(self, told: Told) -> Iterator[Question]:
        yield ask_mix(mix_names())
        if not told.get("mix"):
            return
        yield from ask_moulds(told["mix"])
        yield ask_scale()
        components = components_of(told["mix"])
        for component in components:
            name, part = f"component-{component.n}", component.part
            yield from ask_coarse(told, component, components[0])
            band = due_band(told, component, components[0]) if told.get("scale") else None
            asked = ask_lots(told, name, part.name or part.number, [part.kind], band=band, twice=True)
            yield from (_poured(one, band, part) for one in asked)
            if band is not None:
                yield from ask_ratio(told, name, band, part)

    def tells(self, told: Told) -> Payload:
        scale = told.get("scale", "")
        on = {"scale": scale} if scale else {}
        lots = [lot | on for c in components_of(told["mix"]) for lot in lots_told(told, f"component-{c.n}")]
        again = [value for name, value in told.items() if name.startswith("component-") and name.endswith("-again")]
        beside = {"beside": True} if by_another(told) else {}
        read = {"scales": [scale] if scale else [], "again": [value for value in again if value]}
        return {"mix": told["mix"], "components": lots, **read, **beside}

    def data(self) -> Payload:
        scale = One(ask_scale(), "scales", listed=True).data()
        return mix_data(mix_names()) | {"piece": "mix", "scale": scale, "coarse": keys_data(coarse())}


def ask_mix(names: Sequence[str]) -> Question:
    """Which mix it is."""
    choices = [Choice(name, name.capitalize()) for name in names]
    return Question("mix", _("What do you mix?"), "Mix", choices=choices, kind="choice")


def mix_data(names: Sequence[str]) -> Payload:
    """What a tablet takes along of mixes: their parts, what each makes and how long it lives, its heat and its keys."""
    return {
        "mixes": {name: [component_data(c) for c in components_of(name)] for name in names},
        "makes": {name: mix_in_force(name, clock.now()).part.kind for name in names},
        "lives": {name: mix_in_force(name, clock.now()).pot_life_ms for name in names},
        "checked": _("Checked before any resin is poured"),
        "off": keys_data(OFF_RATIO),
        "unready": keys_data(unready()),
        "heat": {name: heat_of(name) for name in names},
        "shot": shot_mass(),
    }


def _poured(asked: Question, band: Band | None, part: Part) -> Question:
    """The mass that is due stands in the question itself."""
    if band is None or asked.band is None or asked.name.endswith("-again"):
        return asked
    return replace(asked, asks=say("Pour %(thing)s to %(due)s g", thing=part.name or part.number, due=band.aimed))


def ask_moulds(mix: str) -> Iterator[Question]:
    """Before any resin is weighed for a mould: one is closed, and its checks hold."""
    if mix_in_force(mix, clock.now()).part.kind != Part.Kind.RESIN_MIX or shot_mass() is None:
        return
    if not any(mould.is_ready for mould in moulds_to_fill()):
        tells = _("Close a mould, test it for leaks and hold its bladder: that needs no resin.")
        asks = _("No mould is ready to be filled")
        yield Question("moulds", asks, "Stop", choices=unready(), tells=tells, kind="choice", again_at="../")


@dataclass(frozen=True)
class ToFill:
    """A mould that waits for its pot, with what was checked of its closing."""

    unit: Item
    checks: list[Check]
    at: datetime

    @property
    def is_ready(self) -> bool:
        return all(check.holds(self.at) for check in self.checks)


def moulds_to_fill() -> list[ToFill]:
    """Moulds whose next step takes a pot, the longest waiting first."""
    now = clock.now()
    wanted = Operation.objects.filter(inputs__kind=Part.Kind.RESIN_MIX, n__gt=1)
    rows = Waiting.objects.filter(operation__in=wanted, unit__state__where=HERE).order_by("since", "pk")
    found = list(rows.select_related("operation", "unit__state", "unit__revision__part"))
    routes = {row.unit_id: route_of(row.unit.part, row.unit.born_at) for row in found}
    checks = checks_of_all(routes, now)
    return [ToFill(row.unit, before(checks[row.unit_id], row.operation), now) for row in found]


def shot_mass() -> str | None:
    """Mass of a shot by the routes in force, in grams; none where they name none, or several."""
    rows = OperationInput.objects.filter(
        kind=Part.Kind.RESIN_MIX,
        operation__n__gt=1,
        operation__route_revision__in=RouteRevision.objects.in_force(clock.now()),
    )
    amounts = set(rows.values_list("amount", flat=True))
    if not amounts:
        return None
    (amount,) = amounts if len(amounts) == 1 else (None,)
    return "" if amount is None else print_steps(amount, "g", "mass")


def heat_of(mix: str) -> str:
    """Mass from which the data sheet of a mix warns of heat, in grams; empty where the works has stated none."""
    heat = MixHeat.objects.filter(mix_revision=mix_in_force(mix, clock.now())).first()
    return print_steps(heat.from_mass, "g", "mass") if heat else ""


def pot_words(told: Told) -> list[str]:
    """What is told beside the scale: how many shots the pot serves, and that so much of it heats itself."""
    if not told.get("mix"):
        return []
    components = components_of(told["mix"])
    base = mass_told(told, f"component-{components[0].n}")
    whole = (
        sum(mass_told(told, f"component-{c.n}") or due_mass(c, components[0], base)[0] for c in components[1:]) + base
    )
    if not whole:
        return []
    grams, found = print_steps(whole // 10**5 * 10**5, "g", "mass"), []
    shot = shot_mass() if mix_in_force(told["mix"], clock.now()).part.kind == Part.Kind.RESIN_MIX else None
    if shot:
        shots = int(Decimal(grams) // Decimal(shot))
        facts = {"shots": shots, "shot": shot, "rest": Decimal(grams) - shots * Decimal(shot)}
        found.append(_serves(shots, facts))
    heat = heat_of(told["mix"])
    if heat and Decimal(grams) >= Decimal(heat):
        facts = {"grams": grams, "from": heat}
        words = say("%(grams)s g in one cup: the data sheet warns of heat from %(from)s g. Weigh less.", **facts)
    else:
        words = say(
            "%(grams)s g in one cup heats itself. Never leave it covered. The data sheet comes first.", grams=grams
        )
    return [*found, words]


def _serves(shots: int, facts: dict[str, object]) -> str:
    """How many shots a pot serves, and what stays of it."""
    if not shots:
        return say("It is less than one shot of %(shot)s g.", **facts)
    if shots == 1:
        return say("It serves 1 shot of %(shot)s g; %(rest)s g stay in the cup.", **facts)
    return say("It serves %(shots)s shots of %(shot)s g; %(rest)s g stay in the cup.", **facts)


def ask_coarse(told: Told, component: MixComponent, base: MixComponent) -> Iterator[Question]:
    """Said before a part is poured: the scale can't judge its ratio."""
    mass = mass_told(told, f"component-{base.n}")
    scale = Gauge.objects.filter(code=fold(told.get("scale", ""))).first()
    if component.n == base.n or not mass or scale is None:
        return
    play, step = due_mass(component, base, mass)[1], step_of_scale(scale)
    if step <= play:
        return
    facts = {"step": print_steps(step, "g", "mass"), "play": print_steps(play, "g", "mass")}
    facts["part"] = component.part.name or component.part.number
    tells = say("This scale reads %(step)s g; %(part)s may be off by %(play)s g at most. Use the fine scale.", **facts)
    asks, drops = _("This scale is too coarse"), 4  # the scale, and what was weighed on it
    yield Question(
        f"component-{component.n}-scale-stop", asks, "Stop", choices=coarse(), tells=tells, kind="choice", drops=drops
    )


def component_data(component: MixComponent) -> Payload:
    """A component with its parts per billion of the first, and how far off it may be."""
    part = component.part
    told = {"n": component.n, "part": part.number, "word": part.name or part.number, "of": [part.kind]}
    play = min(component.plus_ppb, component.minus_ppb)
    return told | {"ratio": component.ratio_ppb, "play": play}


def components_of(mix: str) -> list[MixComponent]:
    """Components of a mix in force, in the order in which they are weighed."""
    rows = MixComponent.objects.filter(mix_revision=mix_in_force(mix, clock.now()))
    return list(rows.order_by("n").select_related("part"))


def mass_told(told: Told, name: str) -> int:
    """Mass of one component among the answers. [ug] What can't be read yet counts as nothing."""
    whole = Band("g", "mass")
    return sum(whole.read(lot["amount"].removesuffix(" g")) or 0 for lot in lots_told(told, name))


def due_band(told: Told, component: MixComponent, base: MixComponent) -> Band | None:
    """Mass that is due of a component for what was told of the first; none for the first."""
    mass = mass_told(told, f"component-{base.n}")
    if component.n == base.n or not mass:
        return None
    wanted, play = due_mass(component, base, mass)
    finest = next((step for step in (10**6, 10**5, 10**4) if play >= 10 * step), 1)  # a tenth of the play or finer
    return Band("g", "mass", wanted - play, wanted + play, wanted, finest)


def ask_ratio(told: Told, name: str, band: Band, part: Part) -> Iterator[Question]:
    """Said before anything is mixed: a component that is off its ratio."""
    mass = band.printed(mass_told(told, name))
    if band.verdict(mass).startswith("outside"):
        due = {"part": part.name or part.number, "amount": band.aimed, "band": band.words}
        tells = say("Of %(part)s %(amount)s g are due, %(band)s. A wrong mix can’t be mended.", **due)
        asks = say("%(part)s: %(said)s", part=part.name or part.number, said=band.outside(mass))
        yield Question(f"{name}-stop", asks, "Stop", choices=OFF_RATIO, tells=tells, drops=2)  # both readings


class PotNumber:
    """The number of a mixed pot."""

    def asks(self, told: Told) -> Iterator[Question]:
        if told.get("mix"):
            yield from self._of(mix_in_force(told["mix"], clock.now()).part).asks(told)

    def tells(self, told: Told) -> Payload:
        return self._of().tells(told)

    def data(self) -> Payload:
        return self._of(*(mix_in_force(name, clock.now()).part for name in mix_names())).data()

    @staticmethod
    def _of(*parts: Part) -> One:
        return number_of("pot", noop("the pot’s label"), has_own=all(part.prefix for part in parts))
