"""A pot goes into a closed mould: which amount is meant, and which mould holds which unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext_noop

from plant.catalogue.models import Operation, OperationInput, Part
from plant.catalogue.queries import route_of
from plant.codes import fold
from plant.equipment.models import Tool
from plant.quantities import Quantity
from records.items.locking import lock_for_use
from records.items.making import Drawn, Input, drawn_for, fits, unit_for
from records.items.models import Item
from records.items.pots import standing_pots
from records.items.queries import find_item
from records.ledger.acts import Act
from records.ledger.memory import remembered
from records.ledger.refusals import Refused

from .models import StepRecord, StepTool
from .queries import done_operations

SHARES = 10**9
IN_THE_LIST = gettext_noop("%(code)s is in the list already. Scan the other one.")


@dataclass(frozen=True)
class Shot:
    """A lot that goes in at a step. Without an amount it is what the route says, else all that is left."""

    code: str
    quantity: Quantity | None = None
    part: str = ""

    def as_read(self) -> dict[str, Any]:
        steps = self.quantity.steps if self.quantity else None
        return {"lot": fold(self.code), "steps": steps, "part": fold(self.part)}


def inputs_of(operation: Operation) -> list[OperationInput]:
    """What goes in at an operation, by its route."""
    return remembered((OperationInput, operation), lambda: sorted(operation.inputs.all(), key=lambda one: one.pk))


@dataclass(frozen=True)
class GoesIn:
    """What goes in at an operation: as scanned, each lot once, or each pot that was open where nobody knows which."""

    shots: Sequence[Shot] = ()
    open_pots: Sequence[Item] = ()


def going_in(a: Act, operation: Operation, shots: Sequence[Shot], *, is_done: bool) -> GoesIn:
    """What goes in at an operation, before anything is locked.

    Refuses ``wrong-kind`` where the operation takes nothing, ``already-used`` for a lot that is told twice where one
    of them names no amount: all that is left can't be taken twice. What has happened so counts that lot once.
    """
    wanted = {one.kind for one in inputs_of(operation)}
    if shots and not wanted:
        raise Refused("wrong-kind", "Nothing goes in at %(operation)s. Leave the lot out.", operation=operation.name)
    if shots or not is_done or Part.Kind.RESIN_MIX not in wanted:
        return GoesIn(_each_once(a, shots))
    return GoesIn((), [pot.item for pot in standing_pots(a.at, ended=False) if pot.item.part.kind in wanted])


def _each_once(a: Act, shots: Sequence[Shot]) -> list[Shot]:
    """Shots with a lot that was told twice taken once; where amounts are told, those stand."""
    told: dict[object, list[Shot]] = {}
    for shot in shots:
        lot = find_item(shot.code)
        told.setdefault(lot.pk if lot else fold(shot.code), []).append(shot)
    found = []
    for alike in told.values():
        measured = [shot for shot in alike if shot.quantity is not None]
        if len(alike) > 1 and len(measured) < len(alike):
            if not a.said.done:
                raise Refused("already-used", IN_THE_LIST, code=fold(alike[0].code))
            alike = measured or alike[:1]
        found += alike
    return found


def shots_drawn(a: Act, operation: Operation, goes_in: GoesIn, *, is_done: bool) -> list[Drawn]:
    """Lots that go in at an operation, each allowed to be used or flagged; ``lock_with_shots`` comes before it.

    Refuses at the gate ``no-pot`` where the operation takes a pot and none is told; what has happened counts each pot
    that was open as possible.
    """
    wanted = {one.kind: one.amount for one in inputs_of(operation)}
    inputs = [_input(shot, wanted) for shot in goes_in.shots]
    if not inputs and is_done and Part.Kind.RESIN_MIX in wanted:
        a.refuse_or_flag("no-pot", "Scan the pot that went in. Nobody can trace it otherwise.")
        inputs = _possible(goes_in.open_pots)
    return drawn_for(a, inputs, list(wanted)) if inputs else []


def lock_with_shots(unit: Item, goes_in: GoesIn) -> None:
    """Lock a unit with all that may go into it: how much is left of that is then read as it stays."""
    lots = (find_item(shot.code) for shot in goes_in.shots)
    lock_for_use([unit, *goes_in.open_pots, *(lot for lot in lots if lot is not None)])


def _input(shot: Shot, wanted: dict[str, int | None]) -> Input:
    if shot.quantity is not None:
        return Input(shot.code, shot.quantity, part=shot.part)
    lot = find_item(shot.code)
    kind = lot.part.kind if lot else next(iter(wanted))
    unit_kind = lot.part.unit_kind if lot else "mass"
    return Input(shot.code, Quantity(amount_meant(wanted.get(kind), lot), unit_kind), part=shot.part)


def amount_meant(fixed: int | None, lot: Item | None) -> int:
    """Amount of a shot that nobody wrote: what the route says, never more than is left; else all that is left."""
    left = max(lot.state.remaining or 0, 0) if lot else 0
    return min(fixed, left) if fixed and left else fixed or left


def _possible(pots: Sequence[Item]) -> list[Input]:
    """Each pot that was open, as a possible input."""
    return [Input(pot.code, Quantity(0, pot.part.unit_kind), SHARES // len(pots)) for pot in pots]


def is_mould(code: str) -> bool:
    """Whether a code is that of a mould."""
    return _mould(code) is not None


def _mould(code: str) -> Tool | None:
    return Tool.objects.filter(code=fold(code), kind=Tool.Kind.MOULD).first()


def unit_at(code: str, at: datetime) -> Item:
    """Unit by its code, or by the mould that it is in. Refuses ``unknown`` and ``wrong-kind``."""
    unit = find_item(code)
    if unit is not None:
        fits(unit, Part.UNIT_KINDS)
        return unit
    mould = _mould(code)
    if mould is None:
        return unit_for(code)  # says that there is no such code, and which look like it
    unit = unit_in_mould(mould, at)
    if unit is None:
        raise Refused("unknown", "Nothing is in mould %(code)s by the records. Scan the unit.", code=mould.code)
    return unit


def unit_in_mould(mould: Tool, at: datetime) -> Item | None:
    """The unit that a mould was closed over last, until it is out: until the last step that makes it safe is done."""
    uses = StepTool.objects.filter(tool=mould, step__in=StepRecord.objects.standing().filter(ended_at__lte=at))
    use = uses.select_related("step__unit__state", "step__unit__revision__part").order_by("step__ended_at", "pk").last()
    if use is None:
        return None
    unit = use.step.unit
    safe = [o.name for o in route_of(unit.part, unit.born_at) if o.makes_safe]
    is_out = safe and safe[-1] in done_operations([unit.pk])[unit.pk]
    return None if is_out or mould_of(unit, at) != mould else unit  # it may have been closed again in another one


def mould_of(unit: Item, at: datetime) -> Tool | None:
    """The mould in which a unit was closed last."""
    uses = StepTool.objects.filter(
        tool__kind=Tool.Kind.MOULD, step__unit=unit, step__in=StepRecord.objects.standing().filter(ended_at__lte=at)
    )
    use = uses.select_related("tool").order_by("step__ended_at", "pk").last()
    return use.tool if use else None
