"""What can be logged at a station: for each task its questions, and the entry that the answers make."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from plant.catalogue.models import MixComponent, MixRevision, Operation, OperationInput, OperationReading, Part
from plant.catalogue.queries import mix_in_force, part_by_number, route_of, tank_by_code
from plant.codes import read_typed
from records.items.actions.pots import due_mass
from records.items.making import unit_for
from records.items.queries import find_item
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.steps.actions.working import operation_named
from records.trace.finding import code_of

from .asking import (
    Choice,
    Question,
    Told,
    amount_of,
    ask_bladders,
    ask_gate,
    ask_lots,
    ask_readings,
    ask_scale,
    ask_tank,
    ask_tool,
    ask_units,
    scan_lot,
    scan_unit,
)
from .bands import Band

Payload = dict[str, Any]
KIND = Part.Kind


@dataclass(frozen=True)
class Task:
    """One thing that can be logged: the kind of its entry, the act whose right it needs, and how it is asked."""

    kind: str
    act: str
    word: str
    asks: Callable[[Told], Iterator[Question]]
    tells: Callable[[Told, str], Payload]
    operation: Operation | None = None
    unit: str = ""

    @property
    def caution(self) -> str:
        return self.operation.caution if self.operation else CAUTIONS_OF_TASKS.get(self.kind, "")


OFF_RATIO = (
    Choice("again", "Weigh it again", "Nothing is kept of this weight."),
    Choice("done", "It is mixed already", "It is kept and marked, and Review is told."),
)
CAUTIONS_OF_TASKS = {"mix": "mixing", "tank-charge": "epoxy", "tank-draw": "epoxy", "tank-clean": "solvent"}


def task_named(name: str, told: Told) -> Task:
    """The task of an address. Refuses ``unknown``, and what the unit, operation or part of it is refused for."""
    if name == "step":
        return step_task(told.get("unit", ""), told.get("operation", ""))
    if name == "make":
        return make_task(told.get("part", ""))
    if name not in TASKS:
        raise Refused("unknown", "Nothing is logged under the name %(name)s. Go back to the station.", name=name)
    return TASKS[name]


def step_task(code: str, name: str) -> Task:
    """An operation of a unit's route."""
    unit = unit_for(code_of(code))
    operation = operation_named(unit, route_of(unit.part, unit.born_at), name)

    def asks(told: Told) -> Iterator[Question]:
        yield from ask_tool(operation)
        yield from ask_readings(told, operation)

    def tells(told: Told, station: str) -> Payload:
        return {"unit": unit.code, "operation": operation.name, **_worked(told, station, operation)}

    return Task("step", "step done", operation.name, asks, tells, operation, unit.code)


def make_task(number: str) -> Task:
    """The first operation of a part's route, which brings a unit into being."""
    part = part_by_number(number)
    route = route_of(part, clock.now())
    if part.kind not in MAKERS or not route:
        raise Refused("unknown", "%(part)s has no route yet. Ask the engineer.", part=part.number)
    operation = route[0]
    kind, ask_content, tell_content = MAKERS[part.kind]

    def asks(told: Told) -> Iterator[Question]:
        yield from ask_tool(operation)
        yield from ask_content(told, operation)
        yield from ask_readings(told, operation)
        yield Question(
            "unit", "Scan its label, or let the house give a number", "Number", _is_free, may_skip="Give it a number"
        )

    def tells(told: Told, station: str) -> Payload:
        return {
            "unit": read_typed(told.get("unit", "")),
            "part": part.number,
            **tell_content(told),
            **_worked(told, station, operation),
        }

    return Task(kind, "unit made", f"{operation.name} {part.name or part.number}", asks, tells, operation)


def _is_free(code: str) -> None:
    read_typed(code)  # a label of the house whose check digit does not fit is misread
    if find_item(code_of(code)) is not None:
        raise Refused("code-taken", "%(code)s is taken: no number is used twice. Take another one.", code=code)


def _worked(told: Told, station: str, operation: Operation) -> Payload:
    readings = OperationReading.objects.filter(operation=operation).order_by("pk")
    return {
        "station": station,
        "tools": [told["tool"]] if told.get("tool") else [],
        "readings": [
            {"name": row.name, "value": told[f"reading-{n}"], "unit": row.unit}
            for n, row in enumerate(readings, start=1)
            if told.get(f"reading-{n}")
        ],
        "rules_seen": f"route {operation.route_revision.revision}",
    }


def lots_told(told: Told, name: str) -> list[Payload]:
    """Lots among the answers, in the order scanned."""
    rows, n = [], 1
    while told.get(f"{name}-{n}-lot"):
        lot = told[f"{name}-{n}-lot"]
        unit = amount_of(told, "", f"{name}-{n}-lot").unit
        rows.append(
            {
                "lot": code_of(lot),
                "amount": f"{told.get(f'{name}-{n}-amount', '')} {unit}",
                "part": told.get(f"{name}-{n}-lot-part", ""),
            }
        )
        n += 1
    return rows


def units_told(told: Told, name: str) -> list[str]:
    """Units among the answers, in the order scanned."""
    codes, n = [], 1
    while told.get(f"{name}-{n}"):
        codes.append(code_of(told[f"{name}-{n}"]))
        n += 1
    return codes


def _fixed(operation: Operation, kind: str) -> int | None:
    wanted = OperationInput.objects.filter(operation=operation, kind=kind).first()
    return wanted.amount if wanted else None


def _ask_wind(told: Told, operation: Operation) -> Iterator[Question]:
    yield from ask_lots(told, "spools", "spool", [KIND.FIBRE, KIND.BINDER], fixed=_fixed(operation, KIND.FIBRE))


def _ask_mould(told: Told, operation: Operation) -> Iterator[Question]:
    yield from ask_units(told, "preforms", "preform", [KIND.PREFORM], go_in=True)
    yield from ask_bladders(told)
    yield from ask_lots(
        told, "inserts", "frame insert", [KIND.INSERT], skip="None goes in", fixed=_fixed(operation, KIND.INSERT)
    )
    yield from ask_lots(told, "fill", "pot", [KIND.RESIN_MIX], fixed=_fixed(operation, KIND.RESIN_MIX))


def _ask_bond(told: Told, operation: Operation) -> Iterator[Question]:
    yield scan_unit("front", "Scan the front triangle", "Front", [KIND.FRONT])
    yield from ask_gate("front", told.get("front", ""))
    yield scan_unit("rear", "Scan the rear triangle", "Rear", [KIND.REAR])
    yield from ask_gate("rear", told.get("rear", ""))
    yield from ask_lots(
        told, "adhesive", "pot of adhesive", [KIND.ADHESIVE_MIX], fixed=_fixed(operation, KIND.ADHESIVE_MIX)
    )


def _tell_wind(told: Told) -> Payload:
    return {"spools": lots_told(told, "spools")}


def _tell_mould(told: Told) -> Payload:
    return {
        "preforms": units_told(told, "preforms"),
        "bladders": units_told(told, "bladder"),
        "inserts": lots_told(told, "inserts"),
        "fill": lots_told(told, "fill"),
    }


def _tell_bond(told: Told) -> Payload:
    return {
        "front": code_of(told["front"]),
        "rear": code_of(told["rear"]),
        "adhesive": lots_told(told, "adhesive"),
    }


MAKERS: dict[str, tuple[str, Callable[[Told, Operation], Iterator[Question]], Callable[[Told], Payload]]] = {
    KIND.PREFORM: ("wind", _ask_wind, _tell_wind),
    KIND.FRONT: ("mould", _ask_mould, _tell_mould),
    KIND.REAR: ("mould", _ask_mould, _tell_mould),
    KIND.FRAME: ("bond", _ask_bond, _tell_bond),
}


def _ask_mix(told: Told) -> Iterator[Question]:
    approved = MixRevision.objects.filter(proposal__approval__isnull=False)
    names = sorted(set(approved.values_list("mix", flat=True)))
    yield Question("mix", "What do you mix?", "Mix", choices=[Choice(name, name.capitalize()) for name in names])
    if not told.get("mix"):
        return
    yield ask_scale()
    components = components_of(told["mix"])
    for component in components:
        name, part = f"component-{component.n}", component.part
        band = due_band(told, component, components[0])
        yield from ask_lots(told, name, part.name or part.number, [part.kind], band=band)
        if band is not None:
            yield from ask_ratio(told, name, band, part)
    yield Question(
        "pot", "Scan the pot’s label, or let the house give a number", "Number", _is_free, may_skip="Give it a number"
    )


def components_of(mix: str) -> list[MixComponent]:
    """Components of a mix in force, in the order in which they are weighed."""
    rows = MixComponent.objects.filter(mix_revision=mix_in_force(mix, clock.now()))
    return list(rows.order_by("n").select_related("part"))


def mass_told(told: Told, name: str) -> int:
    """Mass of one component among the answers. [ug] What can't be read yet counts as nothing."""
    whole = Band("g", "mass")
    return sum(whole.read(lot["amount"].removesuffix(" g")) or 0 for lot in lots_told(told, name))


def due_band(told: Told, component: MixComponent, base: MixComponent) -> Band | None:
    """Mass that is due of a component for what was weighed of the first; none for the first, or without a scale."""
    mass = mass_told(told, f"component-{base.n}")
    if component.n == base.n or not told.get("scale") or not mass:
        return None
    wanted, play = due_mass(component, base, mass)
    finest = next((step for step in (10**6, 10**5, 10**4) if play >= 10 * step), 1)  # a tenth of the play or finer
    return Band("g", "mass", wanted - play, wanted + play, wanted, finest)


def ask_ratio(told: Told, name: str, band: Band, part: Part) -> Iterator[Question]:
    """Said before anything is mixed: a component that is off its ratio."""
    mass = band.printed(mass_told(told, name))
    if band.verdict(mass).startswith("outside"):
        tells = f"{band.aimed} g are due, {band.words}. A wrong mix can’t be mended."
        asks = f"{mass} g of {part.name or part.number} is {band.distance(mass)} the band"
        yield Question(f"{name}-stop", asks, "Stop", choices=OFF_RATIO, tells=tells, drops=2)  # amount, and no more


def _tell_mix(told: Told, station: str) -> Payload:
    lots = [lot for c in components_of(told["mix"]) for lot in lots_told(told, f"component-{c.n}")]
    scales = [told["scale"]] if told.get("scale") else []
    return {
        "pot": read_typed(told.get("pot", "")),
        "mix": told["mix"],
        "components": lots,
        "scales": scales,
        "station": station,
    }


def _ask_charge(told: Told) -> Iterator[Question]:
    yield ask_tank()
    if told.get("tank"):
        yield scan_lot("lot", "lot that goes in", [tank_by_code(told["tank"]).part.kind])
        yield from ask_gate("lot", told.get("lot", ""))
        yield amount_of(told, "amount", "lot")


def _tell_charge(told: Told, _: str) -> Payload:
    unit = amount_of(told, "", "lot").unit
    return {
        "tank": told["tank"],
        "lot": code_of(told["lot"]),
        "amount": f"{told['amount']} {unit}",
        "part": told.get("lot-part", ""),
    }


def _ask_draw(told: Told) -> Iterator[Question]:
    yield ask_tank()
    if told.get("tank"):
        part = tank_by_code(told["tank"]).part
        yield Question("amount", "How much was drawn?", "Amount", unit=part.unit)
        yield Question(
            "into",
            "Scan the label of the vessel, or let the house give a number",
            "Number",
            _is_free,
            may_skip="Give it a number",
        )


def _tell_draw(told: Told, _: str) -> Payload:
    unit = tank_by_code(told["tank"]).part.unit
    return {"tank": told["tank"], "into": read_typed(told.get("into", "")), "amount": f"{told['amount']} {unit}"}


def _ask_out(told: Told) -> Iterator[Question]:
    yield Question("to", "To whom does it go?", "To", hint="The painter, or another outside party.")
    yield from ask_units(told, "units", "unit", Part.UNIT_KINDS)


def _tell_move(told: Told, station: str) -> Payload:
    return {"item": code_of(told["item"]), "station": station}


def _ask_item(_: Told) -> Iterator[Question]:
    yield scan_unit("item", "Scan what came here", "Code", [])


TASKS: dict[str, Task] = {
    "pot": Task("mix", "pot mixed", "Mix a pot", _ask_mix, _tell_mix),
    "charge": Task("tank-charge", "tank charged", "Charge a tank or bin", _ask_charge, _tell_charge),
    "draw": Task("tank-draw", "tank drawn", "Draw from a tank or bin", _ask_draw, _tell_draw),
    "clean": Task(
        "tank-clean",
        "tank cleaned",
        "Clean a tank or bin",
        lambda _: iter([ask_tank()]),
        lambda told, _: {"tank": told["tank"]},
    ),
    "move": Task("move", "item moved", "Bring something here", _ask_item, _tell_move),
    "out": Task(
        "send-out",
        "sent out",
        "Send out",
        _ask_out,
        lambda told, _: {"units": units_told(told, "units"), "to": told["to"]},
    ),
    "back": Task(
        "come-back",
        "come back",
        "Take back in",
        lambda told: ask_units(told, "units", "unit", Part.UNIT_KINDS),
        lambda told, station: {"units": units_told(told, "units"), "station": station},
    ),
}
