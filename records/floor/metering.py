"""A pot from a machine that meters: what it took of each tank or can, as it shows it, against the mix's own ratio."""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from django.utils.translation import gettext as _

from plant.catalogue.models import MixComponent, Tank
from plant.catalogue.queries import mix_names
from plant.quantities import print_steps
from plant.scans import opened
from plant.speaking import say
from records.items.gates import Look
from records.items.tanks import contents_at, stop_tank, tanks_named
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.trace.finding import code_of

from .asking import STOPPED, Question, Told, ask_gate, scan_lot
from .going_in import amount_of, ask_left, by_another, more_than, read_again
from .pieces import Payload, lots_told
from .weighing import (
    ask_mix,
    ask_moulds,
    ask_ratio,
    component_data,
    components_of,
    due_band,
    mix_data,
    moulds_to_fill,
    pot_words,
)


class Metered:
    """The components of a mix, each as a machine metered it: from its tank, or from the can that stands on it."""

    def asks(self, told: Told) -> Iterator[Question]:
        yield ask_mix(by_machine())
        if not told.get("mix"):
            return
        yield from ask_moulds(told["mix"])
        components = components_of(told["mix"])
        told = with_tanks(told)
        for component in components:
            yield from self._component(told, component, components[0])

    def _component(self, told: Told, component: MixComponent, base: MixComponent) -> Iterator[Question]:
        name, part = f"component-{component.n}", component.part
        lot, amount = f"{name}-1-lot", f"{name}-1-amount"
        word = part.name or part.number
        if told.get(f"{lot}-own") == "yes" or own_tank(component) is None:
            yield ask_source(lot, component)
        yield from ask_source_gate(lot, told.get(lot, ""))
        band = due_band(told, component, base)
        asked = amount_of(told, amount, lot, band=band)
        hint = f"{say('From %(code)s.', code=code_of(told.get(lot, '')))} {asked.hint}".strip()
        other = (f"{lot}-own", _("From another tank or can")) if f"{lot}-own" not in told else None
        asked = replace(asked, asks=_asks(word), hint=hint, instead=other)
        yield asked
        tank = tank_at(told.get(lot, ""))
        if tank is None:
            yield from ask_left(told, amount, lot)
        else:
            yield from more_than(told, amount, sum(contents_at(tank, clock.now()).values()), tank.part)
        if told.get(amount):
            yield replace(read_again(told, amount, asked), asks=_("Read the machine once more"))
        if band is not None:
            yield from ask_ratio(told, name, band, part)

    def tells(self, told: Told) -> Payload:
        told = with_tanks(told)
        rows = [row for c in components_of(told["mix"]) for row in lots_told(told, f"component-{c.n}")]
        again = [told.get(f"component-{c.n}-1-amount-again", "") for c in components_of(told["mix"])]
        beside = {"beside": True} if by_another(told) else {}
        metered = [_of_tank(row) if tank_at(row["lot"]) else row for row in rows]
        return {"mix": told["mix"], "components": metered, "again": [value for value in again if value], **beside}

    def data(self) -> Payload:
        told = mix_data(by_machine())
        mixes_told = {name: [_said(c) for c in components_of(name)] for name in told["mixes"]}
        keys = {"instead": _("From another tank or can"), "again": _("Read the machine once more")}
        offers = {name: offer_of(name) for name in mixes_told}
        return told | keys | {"piece": "metered", "mixes": mixes_told, "offers": offers}


def _said(component: MixComponent) -> Payload:
    """A component with what is asked about it, and its own tank."""
    tank, word = own_tank(component), component.part.name or component.part.number
    told = {"asks": _asks(word), "scan": _asks_source(word), "tank": tank.code if tank else ""}
    return component_data(component) | told


def offer_of(mix: str) -> str:
    """The key by which a machine's pot is begun."""
    return say("From the machine: %(mix)s", mix=mix)


def _asks(word: str) -> str:
    return say("Metered: %(thing)s", thing=word)


def _asks_source(word: str) -> str:
    return say("Scan the tank or the can of %(thing)s", thing=word)


def _of_tank(row: Payload) -> Payload:
    return {"tank": row["lot"], "amount": row["amount"]}


def by_machine() -> list[str]:
    """Mixes of which a tank holds a component: what a machine may meter."""
    parts = set(Tank.objects.filter(kind=Tank.Kind.TANK).values_list("part_id", flat=True))
    return [name for name in mix_names() if any(c.part_id in parts for c in components_of(name))] if parts else []


def own_tank(component: MixComponent) -> Tank | None:
    """The tank that a component comes from as a rule: the one tank for its part; none where there are more."""
    tanks = list(Tank.objects.filter(kind=Tank.Kind.TANK, part=component.part).select_related("part").order_by("pk"))
    return tanks[0] if len(tanks) == 1 else None


def with_tanks(told: Told) -> Told:
    """Answers with the tank of each component, where nobody told another one."""
    if not told.get("mix"):
        return told
    own = {f"component-{c.n}-1-lot": own_tank(c) for c in components_of(told["mix"])}
    known = {name: tank.code for name, tank in own.items() if tank is not None and told.get(f"{name}-own") != "yes"}
    return ChainMap(told, known)  # type: ignore[arg-type]  # nothing is written through it


def told_beside(told: Told) -> dict[str, object]:
    """What is told where a pot is made: moulds that wait for it, shots that it serves, that it heats itself."""
    return {"ready": moulds_to_fill(), "beside": pot_words(with_tanks(told))}


def tank_at(code: str) -> Tank | None:
    """The tank that a scanned code names."""
    return next(iter(tanks_named([code_of(code)]).values()), None) if code else None


def ask_source(name: str, component: MixComponent) -> Question:
    """Scan the tank that a component comes from, or the can that stands on the machine."""
    part = component.part
    asked = scan_lot(name, part.name or part.number, [part.kind])
    return replace(
        asked, asks=_asks_source(part.name or part.number), check=partial(_source, component=component, asked=asked)
    )


def _source(code: str, component: MixComponent, asked: Question) -> object:
    tank = tank_at(opened(code))
    if tank is None:
        return asked.check(code) if asked.check else None
    if tank.part_id != component.part_id:
        words = "That is %(kind)s %(code)s. Due here: %(due)s. Scan another code."
        raise Refused("wrong-kind", words, kind=tank.kind, code=tank.code, due=component.part.kind)
    return tank


def ask_source_gate(name: str, code: str) -> Iterator[Question]:
    """Before the act: what may not be taken of a tank or a can, and what to do."""
    tank = tank_at(code)
    if tank is None:
        yield from ask_gate(name, code)
        return
    try:
        stop_tank(Look(clock.now()), tank)
    except Refused as refused:
        asks = say("%(code)s may not go in", code=tank.code)
        yield Question(f"{name}-stop", asks, "Stop", choices=STOPPED, tells=str(refused))


def tanks_data() -> list[Payload]:
    """Tanks and bins as a tablet takes them along: of a tank what it holds, and what in it is held."""
    return [_tank_data(tank) for tank in Tank.objects.order_by("code").select_related("part")]


def _tank_data(tank: Tank) -> Payload:
    told: Payload = {"code": tank.code}
    if tank.kind != Tank.Kind.TANK:
        return told
    now = clock.now()
    left = print_steps(sum(contents_at(tank, now).values()), tank.part.unit, tank.part.unit_kind)
    told |= {"part": tank.part.number, "left": f"{left} {tank.part.unit}"}
    return told | ({"held": held} if (held := _held_in(tank)) else {})


def _held_in(tank: Tank) -> str:
    """Code of the lot that stops a tank; empty where none does."""
    try:
        stop_tank(Look(clock.now()), tank)
    except Refused as refused:
        return str(refused.facts["code"])
    return ""
