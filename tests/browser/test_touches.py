"""Few touches: at most four scans or presses a logged step besides digits, for every kind of step of the works.

Counted is everything that a person does from the open screen of a station to the press that logs. Counted apart, since
no program can do without it: each thing that goes in is scanned once (preforms, bladders, inserts, spools, tools, the
parts of a mix and of a frame), and each further number of a step has its own press, as each mass is read twice. What is
scanned one after another (out, back, brought) has a list of its own and one press: test_many.py.
"""

import re

import pytest
from playwright.sync_api import Page, expect

from plant.catalogue.models import Operation, RouteRevision
from records.floor.tasks import BY_LIST, TASKS
from records.items.models import Item
from records.ledger.clock import clock
from records.ledger.models import Entry
from records.scenario.works import BLADDERS, CALLIPER, CUTTER, JIG, MANDRELS, MOULDS, SCALE_BIG, SCALE_FINE, TANK
from tests import demo
from tests.browser.floor import Hands, at, enter

pytestmark = [
    pytest.mark.browser,
    pytest.mark.sqlite,
    pytest.mark.long,
    pytest.mark.django_db(transaction=True),
]

MOST = 4
MOULD = MOULDS["front"][0]


@pytest.fixture(autouse=True)
def shift(page: Page) -> None:
    demo.a_shift_begins()
    page.set_default_timeout(8000)


class Count:
    """Steps logged one after the other, each with its touches."""

    def __init__(self, page: Page) -> None:
        self.page, self.found, self.before = page, {}, Entry.objects.count()
        self.hands = Hands(page)

    def at(self, station: str) -> Hands:
        self.page.goto(at(station))
        self.hands = Hands(self.page)
        return self.hands

    def logged(self, kind: str) -> None:
        """One entry more is on file; what it took is noted."""
        expect(self.page.get_by_text(re.compile("Logged|is on file")).first).to_be_visible()
        assert Entry.objects.count() > self.before, kind
        self.before = Entry.objects.count()
        self.found[kind] = len(self.hands.touches)

    def step(self, station: str, unit: str, name: str, *numbers: str, tool: str = "", carrier: str = "") -> None:
        """A step of a unit: its scan, the key, the scan of its new carrier if it gets one, what is read, the press."""
        hands = self.at(station)
        hands.scan(unit)
        hands.press(f"{name.capitalize()}: log it")
        if tool:
            hands.scan(tool, thing=True)
        if carrier:
            hands.scan(carrier)
        for number in numbers[:-1]:
            hands.number(number)
        if numbers:
            hands.digits(numbers[-1])
        hands.press(re.compile("^Log"))
        self.logged(name)


def newest(part: str) -> str:
    return Item.objects.filter(revision__part__number=part).latest("pk").code


@pytest.mark.unhurried
def test_a_tube_and_a_front_from_the_mandrel_to_the_bonding_bench(page: Page):
    demo.nothing_rests("OS-F")
    enter(page, "marta", "Winding")
    demo.a_pot("POT-1")
    count = Count(page)
    hands = count.at("Winding")
    hands.press("preform TUBE")
    hands.scan(MANDRELS[0], thing=True)
    hands.scan(demo.SPOOL, thing=True)
    hands.digits("300")
    hands.press("Take 300 g")
    hands.digits("rev 4")
    hands.press(re.compile("^Log"))
    count.logged("wind")
    tube = newest("TUBE")
    count.step("Winding", tube, "set", "4")
    count.step("Winding", tube, "preform out", "25", "1", "300", carrier=tube)
    hands = count.at("Press 1")
    hands.press("front triangle OS-F")
    for code in (MOULD, tube, "TUBE-1", BLADDERS[0], "INSERT-1"):
        hands.scan(code, thing=True)
    hands.press("The mould is closed")
    count.logged("mould")
    count.step("Press 1", MOULD, "leak test", "0.2")
    count.step("Press 1", MOULD, "bladder hold", "20")
    hands = count.at("Press 1")
    hands.scan(MOULD)
    hands.scan("POT-1")
    hands.press("The mould is full")
    count.logged("fill")
    assert hands.touches[2:] == ["press The mould is full"]  # two scans and one press from the clock's start on
    for name, numbers in (("start cure", ()), ("end cure", ()), ("vent", ("0",))):
        count.step("Press 1", MOULD, name, *numbers)
    front = newest("OS-F")
    count.step("Press 1", MOULD, "demould", carrier=front)
    count.step("Drill cell", front, "drill", "rev 7", tool=CUTTER)
    count.step("Drill cell", front, "deburr", carrier=front)
    count.step("Bonding", front, "prepare")
    assert {kind: touches for kind, touches in count.found.items() if touches > MOST} == {}
    assert set(count.found) >= set(operations("TUBE")) | set(operations("OS-F"))


def test_a_frame_from_the_jig_to_its_weight(page: Page):
    enter(page, "marta", "Bonding")
    demo.a_pot("POT-0", before=1.95)
    demo.some_glue("GLUE-1")
    front, rear = demo.a_front_to_bond(), demo.a_rear_to_bond()
    demo.nothing_rests("OSIER")
    count = Count(page)
    hands = count.at("Bonding")
    hands.press("frame OSIER")
    for code in (JIG, front, rear, "GLUE-1"):
        hands.scan(code, thing=True)
    hands.digits("30")
    hands.press("Log 30 g")
    count.logged("bond")
    frame = newest("OSIER")
    count.step("Bonding", frame, "set bond", "0.3", "60", carrier=frame)
    count.step("Polish", frame, "polish", carrier=frame)
    count.step("Bench", frame, "final")
    count.step("Bench", frame, "weigh", "1250")
    hands = count.at("Bench")
    hands.scan(frame)
    hands.press("Measure it")
    hands.scan(CALLIPER)
    hands.digits("0.3")
    hands.press("Log 0.3 mm")
    count.logged("measure")
    hands = count.at("Bench")
    hands.scan(frame)
    hands.press("Hold it")
    hands.press("A doubt about the record")
    hands.press(re.compile("^Log"))
    count.logged("hold")
    assert {kind: touches for kind, touches in count.found.items() if touches > MOST} == {}
    assert set(count.found) >= set(operations("OSIER"))


@pytest.mark.unhurried
def test_pots_and_tanks(page: Page):
    enter(page, "marta", "Mixing")
    demo.a_mould_to_fill()
    count = Count(page)
    for mix, scale, parts in (
        ("resin", SCALE_FINE, (("RESIN-1", "150"), ("HARDENER-1", "45"))),
        ("adhesive", SCALE_BIG, (("PASTE-1", "40"), ("PASTE-2", "20"))),
    ):
        hands = count.at("Mixing")
        hands.press(f"Mix {mix}")
        hands.scan(scale, thing=True)
        for n, (lot, mass) in enumerate(parts):
            hands.scan(lot, thing=True)
            hands.number(mass)
            if n == 0:
                hands.number(mass)
        hands.digits(parts[-1][1])
        hands.press("Start the pot clock")
        count.logged(f"pot {mix}")
    enter(page, "odo", "Stores")
    count.before = Entry.objects.count()
    hands = count.at("Stores")
    hands.press("Charge a tank or bin")
    hands.scan(TANK)
    hands.scan("RESIN-1", thing=True)
    hands.digits("5000")
    hands.press("Log 5000 g")
    count.logged("charge")
    hands = count.at("Mixing")
    hands.press("From the machine: resin")
    hands.number("150")
    hands.number("150")
    hands.scan("HARDENER-1", thing=True)
    hands.number("45")
    hands.digits("45")
    hands.press("Start the pot clock")
    count.logged("metered")
    hands = count.at("Stores")
    hands.press("Draw from a tank or bin")
    hands.scan(TANK)
    hands.digits("500")
    hands.press("Log 500 g")
    count.logged("draw")
    hands = count.at("Stores")
    hands.press("Clean a tank or bin")
    hands.scan(TANK)
    hands.press("It is empty and clean")  # its log says that something is in it
    hands.press("Keep it and mark it")
    count.logged("clean")
    assert {kind: touches for kind, touches in count.found.items() if touches > MOST} == {}
    assert {kind.split()[0] for kind in count.found} == set(TASKS) - set(BY_LIST)


def operations(part: str) -> list[str]:
    """Names of the operations of a part's route: each kind of step that its stations offer."""
    routes = RouteRevision.objects.in_force(clock.now()).filter(part__number=part)
    return list(Operation.objects.filter(route_revision=routes[0]).values_list("name", flat=True))
