"""A small works and the things in it, made by the real actions with fixed, speaking defaults.

Everything is invented: Tarnside Works makes the frame Osier, and the frame Sedge whose route asks for evidence.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid4

from plant.catalogue import specs
from plant.catalogue.actions import approve_change, open_works, propose_change
from plant.catalogue.models import Approval
from plant.people.models import Person, Works
from plant.people.rights import RIGHTS, Role
from plant.quantities import read_quantity
from records.items.actions import (
    Weighing,
    accept_lot,
    charge_tank,
    draw_tank,
    mix_pot,
    receive_lot,
    split_lot,
    tell_use_late,
)
from records.items.actions.receiving import Delivery
from records.items.making import Input
from records.items.models import Hold, Item, TankEntry
from records.items.queries import item_by_code
from records.ledger.acts import Said
from records.quality.actions import countersign_departure, decide_departure, note_departure
from records.steps.actions import Bonding, Made, Moulding, Work, bond, log_step, mould, wind
from records.steps.models import StepRecord
from records.steps.recording import Read
from tests import shelf

# A Monday morning in winter: the works' clock shows the same.
MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)
ALL_ROLES = "everybody"

PARTS = [
    specs.PartSpec("FIB-UD", "fibre", "g", prefix="FB"),
    specs.PartSpec("BND-A", "binder", "g", prefix="BD"),
    specs.PartSpec("RES-A", "resin", "g", prefix="RB"),
    specs.PartSpec("HRD-A", "hardener", "g", prefix="HB"),
    specs.PartSpec("MIX-A", "resin-mix", "g", prefix="PT"),
    specs.PartSpec("ADH-A", "adhesive", "g", prefix="AD"),
    specs.PartSpec("ADH-H", "adhesive-hardener", "g", prefix="AH"),
    specs.PartSpec("ADH-M", "adhesive-mix", "g", prefix="PT"),
    specs.PartSpec("INS-BB", "insert", "pcs", prefix="NS"),
    specs.PartSpec("CPN", "coupon", "pcs", prefix="CU"),
    specs.PartSpec("TUBE", "preform", prefix="PF"),
    specs.PartSpec("OSIER-F", "front", prefix="FT"),
    specs.PartSpec("OSIER-R", "rear", prefix="RT"),
    specs.PartSpec("OSIER", "frame", prefix="TW"),
    specs.PartSpec("SEDGE", "frame", prefix="TW"),
]
STEP = specs.OperationSpec
ROUTES = [
    specs.RouteSpec("TUBE", [STEP("wind", tool_kind="mandrel")]),
    specs.RouteSpec(
        "OSIER-F",
        [
            STEP("mould", tool_kind="mould"),
            STEP("vent", makes_safe=True),
            STEP("trim", readings=[specs.ReadingSpec("edge", "mm", "1", "3")]),
        ],
    ),
    specs.RouteSpec("OSIER-R", [STEP("mould", tool_kind="mould"), STEP("trim")]),
    specs.RouteSpec("OSIER", [STEP("bond", tool_kind="jig"), STEP("finish"), STEP("paint")]),
    specs.RouteSpec(
        "SEDGE",
        [STEP("bond"), STEP("finish", needs_qualification=True, runs=["cure"], measures=["length"])],
    ),
]


def a_works(*, holds: dict[str, int] | None = None, cut_off: str = "") -> Works:
    """An empty works with a person for each role, one who has all (badge ``everybody``), and all of the set-up."""
    _open(holds=holds, cut_off=cut_off)
    return Works.objects.get()


@shelf.kept
def _open(*, holds: dict[str, int] | None, cut_off: str) -> None:
    rules = specs.RulebookSpec(cut_off) if holds is None else specs.RulebookSpec(cut_off, holds)
    people = [specs.PersonSpec(role, f"{role} of the works", [role]) for role in Role.values]
    people += [
        specs.PersonSpec(ALL_ROLES, "Everybody", Role.values),
        specs.PersonSpec("second", "Second", Role.values),
        specs.PersonSpec("visitor", "Visitor", []),
    ]
    opening = specs.Opening(
        name="Tarnside Works",
        zone="Europe/London",
        people=people,
        stations=[specs.StationSpec(code) for code in ("WIND-1", "MOULD-1", "TRIM-1", "BOND-1", "STORE")],
        tools=[
            specs.ToolSpec("MD-1", "mandrel"),
            specs.ToolSpec("ML-1", "mould"),
            specs.ToolSpec("ML-2", "mould"),
            specs.ToolSpec("JG-1", "jig"),
        ],
        gauges=[
            specs.GaugeSpec("GA-1", due_on=date(2026, 12, 31)),
            specs.GaugeSpec("GA-LATE", due_on=date(2026, 1, 31)),
            specs.GaugeSpec("SCALE-1", "scale", "mass", date(2026, 12, 31)),
        ],
        parts=PARTS,
        mixes=[
            specs.MixSpec("EPOXY", "MIX-A", {"RES-A": "100", "HRD-A": "30"}, "0.05", 45),
            specs.MixSpec("GLUE", "ADH-M", {"ADH-A": "100", "ADH-H": "50"}, "0.1", 60),
        ],
        tanks=[specs.TankSpec("TK-1", "RES-A"), specs.TankSpec("BIN-1", "INS-BB", "bin")],
        characteristics=[
            specs.CharacteristicSpec("bore", "OSIER-F", "mm", nominal="34.9", plus="0.05", minus="0.05"),
            specs.CharacteristicSpec("length", "SEDGE", "mm", lower="400", upper="402"),
        ],
        routes=ROUTES,
        recipes=[specs.RecipeSpec("CURE-A", "cure", [specs.RuleSpec("peak", "degC", upper="95")])],
        rulebook=rules,
    )
    open_works(opening, said=Said(Person.objects.set_up(), uuid4(), LONG_AGO))


@shelf.kept
def agreed(spec: specs.Proposable, *, hours: float = -72) -> Approval:
    """A change of the set-up, proposed by one and approved by another."""
    proposal = propose_change(spec, reason="as is usual", said=said(hours))
    return approve_change(proposal, said=said(hours, by="second"))


def a_part(number: str, kind: str, unit: str = "") -> Approval:
    """One more part."""
    return agreed(specs.PartSpec(number, kind, unit))


def a_route(part: str, steps: Sequence[str], **told: object) -> Approval:
    """Another route of a part."""
    return agreed(specs.RouteSpec(part, [STEP(step, **told) for step in steps]))


CLOSED_MOULD = [
    STEP("mould", tool_kind="mould"),
    STEP("leak-test", readings=[specs.ReadingSpec("leak-rate", "mbar", upper="0.5")], good_for_min=45),
    STEP("fill", inputs=[specs.InputSpec("resin-mix", "MIX-A", "15 g")]),
    STEP("vent", makes_safe=True, readings=[specs.ReadingSpec("gauge", "bar", upper="0")]),
    STEP("demould", makes_safe=True),
]


@shelf.kept
def a_mould_to_fill(code: str = "F1", *, tube: str = "T1", hours: float = 0.0) -> Item:
    """A mould closed over a preform, with nothing in it yet; its route asks for a leak test that lapses."""
    agreed(specs.RouteSpec("OSIER-F", CLOSED_MOULD))
    a_tube(tube)
    made = Made(["ML-1"], "MOULD-1")
    return mould(code, part="OSIER-F", moulding=Moulding([tube], []), made=made, said=said(hours))


@shelf.kept
def a_leak_test(code: str = "F1", *, hours: float, rate: str = "0.2") -> StepRecord:
    """The leak test of a closed mould."""
    work = Work("MOULD-1", readings=[Read("leak-rate", rate, "mbar")])
    return log_step(code, step="leak-test", work=work, said=said(hours))


def a_person(role: str = ALL_ROLES) -> Person:
    """The person of the works with a role; ``visitor`` has none."""
    return Person.objects.get(badge=role)


def somebody_who_may(kind: str) -> Person:
    """A person with one of the roles that may do an act."""
    return a_person(sorted(RIGHTS[kind])[0])


def said(hours: float = 0, *, key: UUID | None = None, by: str | Person = ALL_ROLES, done: bool = False) -> Said:
    """Something said to have happened so many hours after Monday at eight."""
    person = by if isinstance(by, Person) else a_person(by)
    return Said(person, key or uuid4(), moment(hours), done=done)


def moment(hours: float) -> datetime:
    """A moment so many hours after Monday at eight."""
    return MONDAY + timedelta(hours=hours)


def of(code: str, quantity: str = "10 g", *, possible: float | None = None, part: str = "") -> Input:
    """An amount of a lot that goes into something."""
    return Input(code, read_quantity(quantity), None if possible is None else round(possible * 10**9), part)


@shelf.kept
def a_delivery(
    code: str = "R1", part: str = "RES-A", quantity: str = "20 kg", *, expires: date | None = None, hours: float = -48
) -> Item:
    """A lot received and still in quarantine."""
    delivery = Delivery(part, read_quantity(quantity), "Fell Supply", expires_on=expires)
    return receive_lot(code, delivery, said=said(hours))


@shelf.kept
def a_lot(
    code: str = "R1", part: str = "RES-A", quantity: str = "20 kg", *, expires: date | None = None, hours: float = -48
) -> Item:
    """A lot received and accepted two days before."""
    lot = a_delivery(code, part, quantity, expires=expires, hours=hours)
    accept_lot(code, said=said(hours))
    return lot


@shelf.kept
def an_allowed_departure(code: str, *, hours: float = -1) -> str:
    """A departure on an item that two people allowed as it is; its code."""
    departure = note_departure(code, defect="material", words="thick", said=said(hours)).code
    decide_departure(departure, choice="as-is", words="flows as it should", said=said(hours))
    countersign_departure(departure, said=said(hours, by="second"))
    return departure


@shelf.kept
def fibre(code: str = "FB1", quantity: str = "5 kg") -> Item:
    """A lot of fibre that may be used."""
    return a_lot(code, "FIB-UD", quantity)


@shelf.kept
def the_lot(code: str, part: str, quantity: str = "20 kg") -> Item:
    """The lot with a code, received and accepted if it is not there yet."""
    return item_by_code(code) if Item.objects.filter(codes__code=code).exists() else a_lot(code, part, quantity)


@shelf.kept
def a_spool(code: str = "SP1", *, lot: str = "FB1", quantity: str = "500 g", hours: float = -24) -> Item:
    """A spool split off a lot of fibre."""
    the_lot(lot, "FIB-UD", "5 kg")
    return split_lot(lot, [of(code, quantity)], said=said(hours))[0]


@shelf.kept
def a_pot(
    code: str = "P1",
    *,
    resin: str = "R1",
    hardener: str = "H1",
    grams: int = 100,
    hours: float = 0,
    weighing: Weighing | None = None,
) -> Item:
    """A pot mixed from a resin and a hardener in the right ratio."""
    the_lot(resin, "RES-A")
    the_lot(hardener, "HRD-A")
    inputs = [of(resin, f"{grams} g"), of(hardener, f"{grams * 30 // 100} g")]
    return mix_pot(code, mix="EPOXY", inputs=inputs, weighing=weighing, said=said(hours))


@shelf.kept
def some_glue(code: str = "G1", *, hours: float = 0) -> Item:
    """A pot of adhesive."""
    the_lot("AD1", "ADH-A", "2 kg")
    the_lot("AH1", "ADH-H", "2 kg")
    return mix_pot(code, mix="GLUE", inputs=[of("AD1", "20 g"), of("AH1", "10 g")], said=said(hours))


@shelf.kept
def a_charge(lot: str = "R1", quantity: str = "20 kg", *, tank: str = "TK-1", hours: float = 0) -> TankEntry:
    """A tank charged with a resin, of which enough was received."""
    the_lot(lot, "RES-A", "1000 kg")
    return charge_tank(tank, lot=of(lot, quantity), said=said(hours))


@shelf.kept
def a_draw(into: str = "D1", quantity: str = "4 kg", *, tank: str = "TK-1", hours: float = 1) -> Item:
    """An amount drawn from a tank."""
    return draw_tank(tank, into=into, quantity=read_quantity(quantity), said=said(hours))


@shelf.kept
def a_tube(code: str = "T1", *, spools: Sequence[str] = ("SP1",), hours: float = 0, made: Made | None = None) -> Item:
    """A tube wound from spools, with the mandrel."""
    for spool in spools:
        if not Item.objects.filter(codes__code=spool).exists():
            a_spool(spool)
    inputs = [of(spool, "20 g") for spool in spools]
    return wind(code, part="TUBE", spools=inputs, made=made or Made(["MD-1"], "WIND-1"), said=said(hours))


@shelf.kept
def a_moulding(
    code: str,
    part: str,
    *,
    tube: str = "",
    pots: Sequence[str] = ("P1",),
    hours: float = 0.25,
    made: Made | None = None,
) -> Item:
    """A triangle moulded from one tube and a fill of pots; what is not there yet is made."""
    tube = tube or f"T-{code}"
    if not Item.objects.filter(codes__code=tube).exists():
        a_tube(tube)
    for pot in pots:
        if not Item.objects.filter(codes__code=pot).exists():
            a_pot(pot)
    moulding = Moulding([tube], [of(pot, "15 g") for pot in pots])
    return mould(code, part=part, moulding=moulding, made=made or Made(["ML-1"], "MOULD-1"), said=said(hours))


def a_front(code: str = "F1", **told: object) -> Item:
    """A front triangle, moulded."""
    return a_moulding(code, "OSIER-F", **told)


def a_rear(code: str = "B1", **told: object) -> Item:
    """A rear triangle, moulded."""
    return a_moulding(code, "OSIER-R", **told)


@shelf.kept
def a_step(unit: str, step: str, *, hours: float = 1, by: str = ALL_ROLES, work: Work | None = None) -> StepRecord:
    """A step of a unit's route, done."""
    return log_step(unit, step=step, work=work, said=said(hours, by=by))


@shelf.kept
def a_vented_front(code: str = "F1", **told: object) -> Item:
    """A front triangle that is out of its mould and safe to go anywhere."""
    front = a_front(code, **told)
    a_step(code, "vent", hours=0.4)
    return front


@shelf.kept
def a_finished_front(code: str = "F1", **told: object) -> Item:
    """A front triangle with its whole route behind it."""
    front = a_front(code, **told)
    a_step(code, "vent")
    a_step(code, "trim")
    return front


@shelf.kept
def a_finished_rear(code: str = "B1", **told: object) -> Item:
    """A rear triangle with its whole route behind it."""
    rear = a_rear(code, **told)
    a_step(code, "trim")
    return rear


@shelf.kept
def tell_late(unit: str, pot: str, *, hours: float) -> None:
    """Another pot that went into a unit, told afterwards."""
    a_pot(pot, hours=hours)
    tell_use_late(unit, lot=of(pot, "1 g"), words="forgotten", said=said(hours))


@shelf.kept
def a_frame(code: str = "X1", *, front: str = "", rear: str = "", part: str = "OSIER", hours: float = 2) -> Item:
    """A frame bonded from a front and a rear triangle; what is not there yet is made."""
    front, rear = front or f"F-{code}", rear or f"B-{code}"
    if not Item.objects.filter(codes__code=front).exists():
        a_finished_front(front)
    if not Item.objects.filter(codes__code=rear).exists():
        a_finished_rear(rear)
    if not Item.objects.filter(codes__code="G1").exists():
        some_glue("G1", hours=hours)
    bonding = Bonding(front, rear, [of("G1", "5 g")])
    return bond(code, part=part, bonding=bonding, made=Made(["JG-1"], "BOND-1"), said=said(hours))


@shelf.kept
def a_finished_frame(code: str = "X1", **told: object) -> Item:
    """A frame with its whole route behind it, not released yet."""
    frame = a_frame(code, **told)
    a_step(code, "finish", hours=3)
    a_step(code, "paint", hours=4)
    return frame


def codes(items: Iterable[Item | Hold]) -> set[str]:
    """Codes of items, or of what is held."""
    return {(item.item if isinstance(item, Hold) else item).code for item in items}
