"""What an answer is refused for is said alike by the tablet without a link and by the server: one table drives both.

The tablet knows less than the server, so what is on file nowhere is told in other words there, and refused
all the same.
"""

import pytest
from playwright.sync_api import Page

from plant.quantities import UNITS, steps_of
from records.floor.tasks import task_named
from records.floor.walking import walk_through
from records.ledger.refusals import Refused
from records.scenario.works import BLADDERS, CALLIPER, MANDRELS, MOULDS
from tests import demo
from tests.browser.floor import enter

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
ON_THE_TABLET = """async cases => {
  const { rules, routeOf } = await import('/static/floor/rules.js');
  const { walk } = await import('/static/floor/walk.js');
  const known = await rules();
  const named = {
    step: told => {
      const on = known.units.get(told.unit);
      return { ...routeOf(known, on).find(one => one.operation === told.operation), on };
    },
    make: told => known.snapshot.makes[told.part],
    hold: told => known.snapshot.hold,
  };
  const taskOf = (name, told) => (named[name] ?? (() => known.snapshot.tasks[name]))(told);
  return cases.map(([name, told]) => walk(known, taskOf(name, told), told).problem);
}"""
MOULD, OTHER_MOULD = MOULDS["front"][0], MOULDS["rear"][0]
CLOSING = {"part": "OS-F", "tool": OTHER_MOULD}
WINDING = {"part": "TUBE", "tool": MANDRELS[0]}
MIX = {"mix": "resin", "moulds": "as"}
RESIN = {**MIX, "scale": "", "component-1-1-lot": "RESIN-1"}


WRONG_TOOL = "That is the %s %s. Due here: mould. Scan another code."
GOES_IN = "That is %s %s. Due here: preform or insert. Look for a code that starts with NS, PF."
TWICE = "%s is in the list already. Scan the other one."
ABOVE_NOUGHT = "An amount lies above nought. Read it again."
NOT_ON_THE_LIST = "Choose one of these."


def closings(unit: str) -> list[tuple[str, dict[str, str], str]]:
    """A mould that is closed: what is no mould, does not go in, or is in it already."""
    again = {"unit": unit, "operation": "mould", "tools-1": MOULD}
    return [
        ("make", {"part": "OS-F", "tool": ""}, "Scan it first, or type its code."),
        ("make", {"part": "OS-F", "tool": MANDRELS[0]}, WRONG_TOOL % ("mandrel", MANDRELS[0])),
        ("make", {"part": "OS-F", "tool": "NO-SUCH"}, ""),
        ("make", {**CLOSING, "in-1": MOULD}, f"That is the mould {MOULD}. It does not go in."),
        ("make", {**CLOSING, "in-1": "SPOOL-1"}, GOES_IN % ("fibre", "SPOOL-1")),
        ("make", {**CLOSING, "in-1": unit}, GOES_IN % ("front", unit)),
        ("make", {**CLOSING, "in-1": "NO-SUCH"}, ""),
        ("make", {**CLOSING, "in-1": "TUBE-3", "in-2": "tube-3"}, TWICE % "TUBE-3"),
        ("make", {**CLOSING, "in-1": BLADDERS[0], "in-2": BLADDERS[0]}, TWICE % BLADDERS[0]),
        ("step", {**again, "tools-1": BLADDERS[0]}, WRONG_TOOL % ("bladder", BLADDERS[0])),
        ("step", {**again, "tools-2": BLADDERS[0], "tools-3": BLADDERS[0]}, TWICE % BLADDERS[0]),
    ]


def strangers() -> list[tuple[str, dict[str, str], str]]:
    """A gauge or a tool that is scanned where a lot is due; a code where words are typed."""
    wound = {**WINDING, "spools-1-lot": "SPOOL-1", "spools-1-amount": "300"}
    typed = "That is the code FB-26-000050-9. Asked for here: Programme. If one more thing goes in, go back one step."
    needs = "Due here: fibre or binder. Scan another code."
    return [
        ("make", {**WINDING, "spools-1-lot": CALLIPER}, f"That is the calliper {CALLIPER}. {needs}"),
        ("make", {**WINDING, "spools-1-lot": MANDRELS[0]}, f"That is the mandrel {MANDRELS[0]}. {needs}"),
        ("make", {**CLOSING, "in-1": CALLIPER}, ""),
        ("make", {**wound, "reading-1": "FB-26-000050-9"}, typed),
    ]


def numbers(unit: str) -> list[tuple[str, dict[str, str], str]]:
    """Readings and amounts that can't be kept as they were typed."""
    test = {"unit": unit, "operation": "leak test"}
    fill = {"unit": unit, "operation": "fill", "pot-1": "POT-1", "wrong-own": "yes", "wrong": "amount"}
    twice = {**RESIN, "component-1-1-amount": "100", "component-1-1-amount-again": "99"}
    return [
        ("step", {**test, "reading-1": "0.2.1"}, "“0.2.1” can't be read as a number. Read it again."),
        ("step", {**test, "reading-1": "0.123"}, "0.123 mbar has more decimals than can be kept. Leave the last off."),
        ("step", {**fill, "pot-1-amount": "0"}, ABOVE_NOUGHT),
        ("step", {**fill, "pot-1-amount": "-5"}, ABOVE_NOUGHT),
        ("step", {**fill, "pot-1-amount": "99999999999"}, "99999999999 g is more than can be true. Read it again."),
        ("step", {**fill, "pot-1-amount": ""}, "Write the number first."),
        ("pot", twice, "First 100 g, now 99 g. Read it once more, or go back one step."),
    ]


def others(unit: str) -> list[tuple[str, dict[str, str], str]]:
    """Lots and scales of another kind, and keys that a question does not have."""
    fill = {"unit": unit, "operation": "fill", "pot-1": "POT-1", "wrong-own": "yes"}
    needs = "That is %s. Due here: %s. Look for a code that starts with %s."
    return [
        ("step", {**fill, "pot-1": "RESIN-1"}, needs % ("resin RESIN-1", "resin-mix", "PT")),
        ("pot", {**RESIN, "component-1-1-lot": "HARDENER-1"}, needs % ("hardener HARDENER-1", "resin", "RB")),
        ("make", {**WINDING, "spools-1-lot": "TUBE-3"}, needs % ("preform TUBE-3", "fibre or binder", "BD, FB")),
        ("pot", {**MIX, "scale": "RESIN-1"}, "That is resin RESIN-1. Due here: scale. Scan another code."),
        ("make", {"part": "OS-F", "tool": "TUBE-3"}, "That is preform TUBE-3. Due here: mould. Scan another code."),
        ("pot", {**MIX, "scale": CALLIPER}, f"That is the calliper {CALLIPER}. Scan a scale."),
        ("step", {**fill, "wrong": "nonsense"}, NOT_ON_THE_LIST),
        ("step", {**fill, "wrong": "more", "pot-2": "pot-1"}, TWICE % "POT-1"),
        ("hold", {"unit": unit, "reason": "nonsense"}, NOT_ON_THE_LIST),
    ]


def at_the_server(name: str, told: dict[str, str]) -> str:
    _, _, problem = walk_through(task_named(name, told), dict(told))
    return str(problem or "")


def test_what_an_answer_is_refused_for_is_said_alike_on_both_sides(page: Page):
    page.set_default_timeout(20_000)
    demo.a_shift_begins()
    unit = demo.a_mould_to_fill()
    demo.a_pot("POT-1")
    enter(page, "lenz", "Press 1")
    table = [*closings(unit), *numbers(unit), *others(unit), *strangers()]
    on_tablet = page.evaluate(ON_THE_TABLET, [[name, told] for name, told, _ in table])
    for (name, told, words), tablet in zip(table, on_tablet, strict=True):
        server = at_the_server(name, told)
        assert server, told
        assert tablet, told
        if words:
            assert (server, tablet) == (words, words)


# Written numbers and their units: at the edge of what can be kept, and beyond it.
EDGES = [
    ("2.5", "pcs"),
    ("2", "pcs"),
    ("1.0", "pcs"),
    ("-273.15", "°C"),
    ("-273.151", "°C"),
    ("-273.1515", "°C"),
    ("23,4567", "°C"),
    ("23,456", "°C"),
    ("9007199254.740991", "g"),
    ("9007199254.740992", "g"),
    ("−0.5", "mm"),
    ("+.5", "mm"),
    ("5.", "%"),
    ("0.1234567", "mm"),
    ("1e3", "g"),
    ("0.5", "h"),
    ("0.0000001", "h"),
]


def kept(text: str, unit: str) -> str:
    kind = next(kind for kind, units in UNITS.items() if unit in units)
    try:
        steps_of(text, unit, kind)
    except Refused as refused:
        return str(refused)
    return ""


def test_the_tablet_keeps_numbers_as_finely_as_the_server(page: Page):
    page.set_default_timeout(20_000)
    demo.a_shift_begins()
    enter(page, "lenz", "Press 1")
    steps, said = page.evaluate(
        """async edges => {
          const { STEPS, wrongNumber } = await import('/static/floor/numbers.js');
          return [STEPS, edges.map(([text, unit]) => wrongNumber(text, { unit }))];
        }""",
        EDGES,
    )
    assert steps == {unit: count for units in UNITS.values() for unit, count in units.items()}
    assert said == [kept(text, unit) for text, unit in EDGES]
    assert sum(map(bool, said)) == 8
