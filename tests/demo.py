"""The invented works of the scenario as it is opened, with what a shift begins with: lots, tubes, no frame yet."""

from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

from plant.catalogue.actions import approve_change, open_works, propose_change
from plant.catalogue.models import RouteRevision
from plant.catalogue.queries import route_of
from plant.catalogue.writing_back import route_spec
from plant.people.models import Person, Works
from plant.quantities import read_quantity
from records.items.actions import Weighing, accept_lot, mix_pot, receive_lot, split_lot
from records.items.actions.receiving import Delivery
from records.items.making import Input
from records.items.queries import item_by_code
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.scenario import works
from records.scenario.stores import ORDERS
from records.steps import actions as steps
from records.steps.recording import Read
from tests import shelf

LOTS = {
    "FIBRE-1": ("FIB-24", "5 kg"),
    "RESIN-1": ("RES-A", "50 kg"),
    "HARDENER-1": ("HRD-A", "20 kg"),
    "PASTE-1": ("ADH-A", "5 kg"),
    "PASTE-2": ("ADH-B", "5 kg"),
    "INSERT-1": ("INS-52", "50 pcs"),
}
SPOOL, TUBES = "SPOOL-1", ("TUBE-1", "TUBE-2", "TUBE-3", "TUBE-4")
STATION = works.STATIONS
CURE_ENDS = 4  # place of the end of the cure among what follows the closing of a mould


def said(who: str, *, before: float = 0) -> Said:
    """Somebody of the works says it, so many hours ago."""
    return Said(Person.objects.get(badge=works.BADGES[who]), uuid4(), clock.now() - timedelta(hours=before))


def a_shift_begins() -> None:
    """The works with its lots on the shelf and four tubes wound."""
    if not Works.objects.exists():
        _open()


@shelf.kept
def _open() -> None:
    open_works(
        works.opening(clock.now().date()), said=Said(Person.objects.set_up(), uuid4(), clock.now() - timedelta(days=30))
    )
    for code, (part, amount) in LOTS.items():
        delivery = Delivery(part, read_quantity(amount), "Fellgate Supply", certificate=ORDERS[part][2])
        receive_lot(code, delivery, said=said("odo", before=48))
        accept_lot(code, said=said("odo", before=47))
    split_lot("FIBRE-1", [Input(SPOOL, read_quantity("3 kg"))], said=said("odo", before=46))
    for tube in TUBES:
        made = steps.Made([works.MANDRELS[0]], STATION["Winding"])
        spools = [Input(SPOOL, read_quantity("300 g"))]
        steps.wind(tube, part="TUBE", spools=spools, made=made, said=said("marta", before=20))


def a_pot(code: str, *, grams: int = 400, before: float = 0.1) -> None:
    """A pot of resin mixed so many hours ago."""
    inputs = [Input("RESIN-1", read_quantity(f"{grams} g")), Input("HARDENER-1", read_quantity(f"{grams * 3 // 10} g"))]
    weighing = Weighing((works.SCALE_FINE,), STATION["Mixing"])
    mix_pot(code, mix="resin", inputs=inputs, weighing=weighing, said=said("marta", before=before))


def a_mould_to_fill() -> str:
    """A front's mould, closed and tested; the code of what is in it."""
    made = steps.Made([works.MOULDS["front"][0]], STATION["Press 1"])
    moulding = steps.Moulding(TUBES[:2], [], [Input("INSERT-1", read_quantity("1 pcs"))], [works.BLADDERS[0]])
    unit = steps.mould("", part="OS-F", moulding=moulding, made=made, said=said("lenz", before=0.2)).code
    for step, name, value in (("leak test", "pressure-rise", "0.2"), ("bladder hold", "pressure-drop", "20")):
        work = steps.Work(STATION["Press 1"], readings=[Read(name, value, "mbar")])
        steps.log_step(unit, step=step, work=work, said=said("lenz", before=0.15))
    return unit


def nothing_rests(*parts: str) -> None:
    """From now on the routes of these parts ask for no rest: a test that walks through them does not wait."""
    for part in parts:
        route = route_spec(RouteRevision.objects.filter(part__number=part).latest("pk"))
        spec = replace(route, operations=[replace(operation, rest_min=0) for operation in route.operations])
        proposal = propose_change(spec, reason="a walk in one go", said=said("edda"))
        approve_change(proposal, said=said("tilo"))


def some_glue(code: str) -> None:
    """A pot of adhesive, just mixed."""
    inputs = [Input("PASTE-1", read_quantity("80 g")), Input("PASTE-2", read_quantity("40 g"))]
    mix_pot(code, mix="adhesive", inputs=inputs, said=said("lenz", before=0.1))


def a_front_to_bond() -> str:
    """A front with its whole route behind it, its surface made ready."""
    return _to_bond("OS-F", "front", TUBES[:2], [Input("INSERT-1", read_quantity("1 pcs"))])


def a_rear_to_bond() -> str:
    """A rear with its whole route behind it, its surface made ready."""
    return _to_bond("OS-R", "rear", TUBES[2:], [])


def a_front_to_deburr() -> str:
    """A front that is drilled; its label comes with the next step."""
    return _to_bond("OS-F", "front", TUBES[:2], [Input("INSERT-1", read_quantity("1 pcs"))], until="deburr")


def a_rear_to_deburr() -> str:
    """A rear that is drilled."""
    return _to_bond("OS-R", "rear", TUBES[2:], [], until="deburr")


def _to_bond(part: str, end: str, tubes: tuple[str, ...], inserts: list[Input], until: str = "") -> str:
    made = steps.Made([works.MOULDS[end][0]], STATION["Press 2"])
    moulding = steps.Moulding(tubes, [], inserts, [works.BLADDERS[1]])
    unit = steps.mould("", part=part, moulding=moulding, made=made, said=said("lenz", before=1.95)).code
    readings = {"leak test": ("pressure-rise", "0.2", "mbar"), "bladder hold": ("pressure-drop", "20", "mbar")}
    readings |= {"vent": ("gauge", "0", "bar")}
    for n, operation in enumerate(route_of(item_by_code(unit).part, clock.now())[1:]):
        if operation.name == until:
            break
        read = [Read(*readings[operation.name])] if operation.name in readings else []
        shots = [steps.Shot("POT-0")] if operation.name == "fill" else []
        carrier = unit if operation.name in ("demould", "deburr") else ""
        work = steps.Work(STATION["Press 2"], readings=read, shots=shots, carrier=carrier)
        cure = works.CURED_MIN / 60 if n < CURE_ENDS else 0
        steps.log_step(unit, step=operation.name, work=work, said=said("lenz", before=0.9 + cure - n / 60))
    return unit
