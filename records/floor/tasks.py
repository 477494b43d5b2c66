"""What can be logged at a station: for each task its pieces, and the entry that the answers make."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from urllib.parse import urlencode

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as noop

from plant.catalogue.models import Operation, OperationInput, OperationReading, Part
from plant.catalogue.queries import mix_names, part_by_number, route_of, tank_by_code
from plant.codes import read_typed
from plant.equipment.models import Tool
from plant.speaking import say
from records.inspection.queries import bands_of
from records.items.lots import tank_page
from records.items.making import unit_for
from records.items.models import Item
from records.items.queries import find_item, item_by_code
from records.items.reasons import CHOSEN
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.steps.actions.working import operation_named
from records.steps.filling import unit_at
from records.trace.finding import code_of

from .asking import Choice, Question, Told, ask_clean, ask_gate, ask_inside, ask_tank, ask_tool, scan_lot, scan_unit
from .carrying import AnotherCarrier, NewCarrier, puts_on
from .going_in import amount_of, ask_left, by_another, check_amount, more_than
from .metering import Metered, by_machine, offer_of
from .moulding import Checked, ClosedAgain, PotIn, closing_pieces, fills_later, takes_pot
from .pieces import Bladders, Lots, One, Payload, Piece, Readings, Units, Values, number_of
from .weighing import Mixed, PotNumber

KIND = Part.Kind


@dataclass(frozen=True)
class Task:
    """One thing that can be logged: the kind of its entry, the act whose right it needs, and its pieces.

    ``fixed`` are fields of the entry that nobody is asked for; ``seen`` the revisions that its screens show.
    """

    kind: str
    act: str
    word: str
    pieces: Sequence[Piece]
    fixed: Payload = field(default_factory=dict)
    operation: Operation | None = None
    unit: str = ""
    at_station: bool = True
    bar: str = ""  # what the press that logs says, where it is not the task's own word
    headline: str = ""
    seen: Payload = field(default_factory=dict)

    @property
    def caution(self) -> str:
        return self.operation.caution if self.operation else CAUTIONS_OF_TASKS.get(self.kind, "")

    @property
    def press(self) -> str:
        """What the press that logs says."""
        return _(self.bar) if self.bar else say("Log %(task)s", task=self.word)

    def asks(self, told: Told) -> Iterator[Question]:
        """Its questions, one after the other."""
        for piece in self.pieces:
            yield from piece.asks(told)

    def needs_second(self, told: Told) -> str:
        """Why somebody signs beside the maker; empty where nobody need."""
        return _("A typed mass that is read once is confirmed by another person.") if by_another(told) else ""

    def tells(self, told: Told, station: str) -> Payload:
        """The payload that the answers make."""
        payload = dict(self.fixed) | ({"station": station} if self.at_station else {})
        for piece in self.pieces:
            payload |= piece.tells(told)
        return payload


CAUTIONS_OF_TASKS = {
    "mix": "mixing",
    "meter": "mixing",
    "tank-charge": "epoxy",
    "tank-draw": "epoxy",
    "tank-clean": "solvent",
    "send-out": "painting",
}


def task_named(name: str, told: Told) -> Task:
    """The task of an address. Refuses ``unknown``, and what the unit, operation or part of it is refused for."""
    if name == "step":
        return step_task(told.get("unit", ""), told.get("operation", ""))
    if name == "make":
        return make_task(told.get("part", ""))
    if name == "carrier":
        return carrier_task(told.get("unit", ""))
    if name == "hold":
        return hold_task(told.get("unit", ""))
    if name == "measure":
        return measure_task(told.get("unit", ""))
    if name not in TASKS:
        raise Refused("unknown", "Nothing is logged under the name %(name)s. Go back to the station.", name=name)
    return TASKS[name]


def step_task(code: str, name: str) -> Task:
    """An operation of a unit's route."""
    unit = unit_at(code_of(code), clock.now())
    operation = operation_named(unit, route_of(unit.part, unit.born_at), name)
    return step_of(operation, readings_of(operation), unit.code)


def step_of(operation: Operation, readings: Sequence[OperationReading], unit: str = "") -> Task:
    """An operation as it is logged on a unit."""
    fixed = {"unit": unit, "operation": operation.name, **_rules_seen(operation)}
    if operation.n == 1 and operation.tool_kind == Tool.Kind.MOULD:
        pieces: list[Piece] = [ClosedAgain(find_item(unit) if unit else None)]
    else:
        pieces = [*_tool_of(operation)]
    bar = headline = ""
    if takes_pot(operation):
        item = find_item(unit) if unit else None
        pieces = [Checked(operation, item), *pieces, PotIn(operation)]
        bar, headline = _("The mould is full"), _("Filling. Press once when the mould is full.")
    if kind := puts_on(operation):
        pieces.append(NewCarrier(kind, find_item(unit) if unit else None))
    pieces.append(Readings(readings))
    task = Task("step", "step done", operation.name, pieces, fixed, operation, unit, seen=_route_seen(operation))
    return replace(task, bar=bar, headline=headline)


def readings_of(operation: Operation) -> list[OperationReading]:
    """What is read at an operation, in the order asked."""
    return list(OperationReading.objects.filter(operation=operation).order_by("pk"))


def _tool_of(operation: Operation) -> list[Piece]:
    return [One(question, "tools", listed=True) for question in ask_tool(operation)]


def _rules_seen(operation: Operation) -> Payload:
    return {"rules_seen": f"route {operation.route_revision.revision}"}


def _route_seen(operation: Operation) -> Payload:
    return {"route": operation.route_revision.revision}


def make_task(number: str) -> Task:
    """The first operation of a part's route, which brings a unit into being."""
    part = part_by_number(number)
    route = route_of(part, clock.now())
    if part.kind not in MAKERS or not route:
        raise Refused("unknown", "%(part)s has no route yet. Ask the engineer.", part=part.number)
    operation = route[0]
    pieces = [
        *_tool_of(operation),
        *(closing_pieces(operation) if fills_later(route) else _content_of(part, operation)),
        Readings(readings_of(operation)),
        # The mould's own code stands for what is in it: a number can wait for the link.
        replace(number_of("unit", noop("its label"), has_own=bool(part.prefix)), left=fills_later(route)),
    ]
    fixed = {"part": part.number, **_rules_seen(operation)}
    word = say("%(operation)s %(part)s", operation=operation.name, part=part.name or part.number)
    task = Task(MAKERS[part.kind], "unit made", word, pieces, fixed, operation, seen=_route_seen(operation))
    return replace(task, bar=_("The mould is closed")) if fills_later(route) else task


def _fixed(operation: Operation, kind: str) -> int | None:
    wanted = OperationInput.objects.filter(operation=operation, kind=kind).first()
    return wanted.amount if wanted else None


MAKERS: dict[str, str] = {KIND.PREFORM: "wind", KIND.FRONT: "mould", KIND.REAR: "mould", KIND.FRAME: "bond"}


def _content_of(part: Part, operation: Operation) -> list[Piece]:
    """What goes into a unit of a part when it is made."""
    if part.kind == KIND.PREFORM:
        return [Lots("spools", "spool", [KIND.FIBRE, KIND.BINDER], "spools", fixed=_fixed(operation, KIND.FIBRE))]
    if part.kind == KIND.FRAME:
        adhesive = Lots(
            "adhesive",
            "pot of adhesive",
            [KIND.ADHESIVE_MIX],
            "adhesive",
            fixed=_fixed(operation, KIND.ADHESIVE_MIX),
        )
        front, rear = (say("Scan the %(thing)s", thing=kind.label) for kind in (KIND.FRONT, KIND.REAR))
        return [
            One(scan_unit("front", front, "Front", [KIND.FRONT]), "front", gate=True, whole=True),
            One(scan_unit("rear", rear, "Rear", [KIND.REAR]), "rear", gate=True, whole=True),
            adhesive,
        ]
    inserts = _fixed(operation, KIND.INSERT)
    return [
        Units("preforms", "preform", [KIND.PREFORM], go_in=True),
        Bladders(),
        Lots("inserts", "frame insert", [KIND.INSERT], "inserts", skip=_("None goes in"), fixed=inserts),
        Lots("fill", "pot", [KIND.RESIN_MIX], "fill", fixed=_fixed(operation, KIND.RESIN_MIX)),
    ]


def hold_task(code: str) -> Task:
    """A thing is held by whoever stands before it."""
    item = item_by_code(code_of(code))
    return hold_of(item.code, item)


def hold_of(code: str, item: Item | None = None) -> Task:
    """The hold of a thing, whatever it is."""
    reasons = [Choice(name, _(word)[:1].upper() + _(word)[1:]) for name, word in CHOSEN.items()]
    pieces = [
        One(Question("reason", _("Why is it held?"), "Why", choices=reasons, kind="choice"), "reason"),
        One(Question("words", _("What did you see?"), "Seen", may_skip=_("Nothing to add"), kind="text"), "words"),
    ]
    unit = code if item is not None and item.kind == Part.Tracked.UNIT else ""
    return Task("hold", "hold placed", noop("hold it"), pieces, {"item": code}, unit=unit, at_station=False)


def carrier_task(code: str) -> Task:
    """Another carrier is put on a unit: one that is worn, burnt or gone is replaced where the unit is."""
    return carrier_of(unit_for(code_of(code)))


def carrier_of(unit: Item | None = None) -> Task:
    """A carrier put on, whatever the unit."""
    code = unit.code if unit else ""
    pieces = [AnotherCarrier(unit)]
    word, bar = noop("new carrier"), noop("It is on, and reads back")
    return Task("carrier", "carrier put on", word, pieces, {"unit": code}, unit=code, at_station=False, bar=bar)


def measure_task(code: str) -> Task:
    """What is measured on a unit."""
    unit = unit_for(code_of(code))
    return measure_of(unit.part, unit.code)


def measure_of(part: Part, unit: str = "") -> Task:
    """The sheet of a part."""
    bands = bands_of(part, clock.now())
    seen = {"bands": [{"name": band.characteristic.name, "revision": band.revision} for band in bands]}
    return Task("measure", "measured", noop("measure"), [Values(bands)], {"unit": unit}, unit=unit, seen=seen)


class Charged:
    """A lot that goes into a tank or bin."""

    def asks(self, told: Told) -> Iterator[Question]:
        yield ask_tank()
        if told.get("tank"):
            yield scan_lot("lot", noop("lot that goes in"), [tank_by_code(told["tank"]).part.kind])
            yield from ask_gate("lot", told.get("lot", ""))
            yield amount_of(told, "amount", "lot")
            yield from ask_left(told, "amount", "lot")

    def tells(self, told: Told) -> Payload:
        amount = f"{told['amount']} {amount_of(told, '', 'lot').unit}"
        return {"tank": told["tank"], "lot": code_of(told["lot"]), "amount": amount, "part": told.get("lot-part", "")}

    def data(self) -> Payload:
        return {"piece": "with-link"}


class Cleaned(One):
    """A tank or bin that is empty and clean: asked about where its log says that something is in it."""

    def asks(self, told: Told) -> Iterator[Question]:
        yield from super().asks(told)
        if told.get("tank"):
            yield from ask_clean(told["tank"])


class Drawn:
    """An amount that is drawn from a tank or bin into a vessel."""

    def asks(self, told: Told) -> Iterator[Question]:
        yield ask_tank()
        if told.get("tank"):
            yield from ask_inside(told["tank"])
            part = tank_by_code(told["tank"]).part
            check = partial(check_amount, unit=part.unit, kind=part.unit_kind)
            yield Question("amount", _("How much was drawn?"), "Amount", check, unit=part.unit)
            yield from more_than(told, "amount", tank_page(tank_by_code(told["tank"])).held, part)
            yield number_of("into", noop("the label of the vessel"), has_own=bool(part.prefix)).question

    def tells(self, told: Told) -> Payload:
        unit = tank_by_code(told["tank"]).part.unit
        return {"tank": told["tank"], "into": read_typed(told.get("into", "")), "amount": f"{told['amount']} {unit}"}

    def data(self) -> Payload:
        return {"piece": "with-link"}


_CAME = One(scan_unit("item", noop("Scan what came here"), "Code", []), "item")
_TO = One(Question("to", noop("To whom does it go?"), "To", hint=noop("The painter, or another outside party.")), "to")
_UNITS = Units("units", "unit", Part.UNIT_KINDS)

TASKS: dict[str, Task] = {
    "pot": Task("mix", "pot mixed", noop("Mix a pot"), [Mixed(), PotNumber()], bar=noop("Start the pot clock")),
    "metered": Task(
        "meter",
        "pot metered",
        noop("A pot from the machine"),
        [Metered(), PotNumber()],
        bar=noop("Start the pot clock"),
    ),
    "charge": Task("tank-charge", "tank charged", noop("Charge a tank or bin"), [Charged()], at_station=False),
    "draw": Task("tank-draw", "tank drawn", noop("Draw from a tank or bin"), [Drawn()], at_station=False),
    "clean": Task(
        "tank-clean", "tank cleaned", noop("Clean a tank or bin"), [Cleaned(ask_tank(), "tank")], at_station=False
    ),
    "move": Task("move", "item moved", noop("Bring something here"), [_CAME]),
    "out": Task("send-out", "sent out", noop("Send out"), [_TO, _UNITS], at_station=False),
    "back": Task("come-back", "come back", noop("Take back in"), [_UNITS]),
}


METERED_AT = "mixing"  # kind of the stations at which a machine's pot is offered

# These are scanned as a list (``many``); the questions stay for a browser without script.
BY_LIST = ("move", "out", "back")


def offered(may: Callable[[str], bool], kind: str) -> list[tuple[str, str, str]]:
    """What is offered at a kind of station besides units: name, what its address tells already, and its word."""
    found = []
    for name, task in TASKS.items():
        if not may(task.act) or name in BY_LIST:
            continue
        if name == "pot":
            found += [(name, f"?{urlencode({'mix': mix})}", say("Mix %(mix)s", mix=mix)) for mix in mix_names()]
        elif name == "metered":
            machine = by_machine() if kind == METERED_AT else []
            found += [(name, f"?{urlencode({'mix': m})}", offer_of(m)) for m in machine]
        else:
            found.append((name, "", _(task.word)))
    return found
