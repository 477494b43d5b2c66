"""A pot from the machine that meters: its tanks are taken as given, its masses read twice, its ratio told as typed."""

import json

import pytest

from records.floor.snapshot import snapshot_for
from records.floor.tasks import offered
from records.items.actions import charge_tank, place_hold
from records.items.models import Item, Link
from records.items.queries import item_by_code
from records.ledger.models import EntryBody
from tests import builders
from tests.records.floor.test_views import asked, log, screen, text
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
RESIN = {"mix": "EPOXY", "component-1-1-amount": "1000", "component-1-1-amount-again": "1000"}
HARDENER = RESIN | {"component-2-1-lot": "H1"}
READ = HARDENER | {"component-2-1-amount": "300"}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    charge_tank("TK-1", lot=builders.of("R1", "5 kg"), said=builders.said(0.1))
    clock_at(builders.moment(0.5))


def meter(**told: str):
    return screen(tablet(), "MOULD-1", "metered", **told)


def test_the_tank_of_a_component_is_taken_as_given_and_a_can_is_scanned():
    first = meter(mix="EPOXY")
    assert asked(first) == "Metered: RES-A"
    assert "From TK-1." in text(first)
    assert asked(meter(**RESIN)) == "Scan the tank or the can of HRD-A"


def test_another_tank_or_can_is_told_behind_a_key():
    address, words = meter(mix="EPOXY").context["own"]
    assert (words, address.endswith("&component-1-1-lot-own=yes")) == ("From another tank or can", True)
    other = {"mix": "EPOXY", "component-1-1-lot-own": "yes"}
    assert asked(meter(**other)) == "Scan the tank or the can of RES-A"
    assert "From R1." in text(meter(**other, **{"component-1-1-lot": "R1"}))
    wrong = meter(**other, **{"component-1-1-lot": "H1"})
    assert "That is hardener H1. Due here: resin. Look for a code that starts with RB." in text(wrong)
    no_tank = meter(**RESIN, **{"component-2-1-lot": "TK-1"})
    assert "That is tank TK-1. Due here: hardener. Scan another code." in text(no_tank)


def test_each_mass_is_read_twice_and_the_ratio_stands_with_its_band():
    first = {"mix": "EPOXY", "component-1-1-amount": "1000"}
    assert asked(meter(**first)) == "Read the machine once more"
    slip = meter(**first, **{"component-1-1-amount-again": "100"})
    assert "First 1000 g, now 100 g. Read it once more, or go back one step." in text(slip)
    band = meter(**HARDENER)
    assert "300 g are due, 285 to 315 g." in text(band)
    off = meter(**HARDENER, **{"component-2-1-amount": "320", "component-2-1-amount-again": "320"})
    assert asked(off) == "HRD-A: 320 g is 5 g above the band."


def test_the_heat_of_the_mixed_mass_is_told_while_it_is_typed():
    parts = {"RES-A": "100", "HRD-A": "30"}
    builders.agreed(builders.specs.MixSpec("EPOXY", "MIX-A", parts, "0.05", 45, hot_from="400 g"), hours=-50)
    assert "1300 g in one cup: the data sheet warns of heat from 400 g. Weigh less." in text(meter(**HARDENER))


def test_more_than_the_tank_holds_is_asked_about():
    page = meter(mix="EPOXY", **{"component-1-1-amount": "6000"})
    assert asked(page) == "There are only 5000 g left on file"


def test_a_tank_in_which_something_is_held_is_told_before_its_mass_is():
    place_hold("R1", reason="leak", said=builders.said(0.4, by="review"))
    page = meter(mix="EPOXY")
    assert asked(page) == "TK-1 may not go in"
    assert "R1 is held. Do not use it: put it aside and ask Review." in text(page)


def test_the_last_reading_starts_the_clock_at_that_moment():
    last = meter(**READ)
    assert (last.context["is_last"], "Start the pot clock" in text(last)) == (True, True)
    log(tablet(), "MOULD-1", "metered", **READ, **{"component-2-1-amount-again": "300.0"})
    pot = Item.objects.latest("pk")
    assert (pot.born_at, pot.good_until) == (builders.moment(0.5), builders.moment(1.25))
    assert pot.state.remaining == 1300 * 10**6
    body = json.loads(EntryBody.objects.latest("pk").payload)
    assert (body["kind"], body["told"]["read_again"]) == ("pot metered", ["1000", "300.0"])


def test_what_a_tablet_kept_makes_the_same_pot_and_is_undone_by_a_press():
    rows = [{"tank": "TK-1", "amount": "1000 g"}, {"lot": "H1", "amount": "300 g"}]
    told = entry("meter", hours=0.4, done=True, pot="P1", mix="EPOXY", components=rows, again=["1000", "300"])
    (answer,) = send(tablet("operator"), told)
    assert (answer["outcome"], answer["made"]) == ("taken", "P1")
    (undone,) = send(tablet("operator"), entry("undo", hours=0.401, done=True, of=told["key"]))
    assert undone["outcome"] == "taken"
    assert item_by_code("P1").state.where == "scrapped"
    assert not Link.objects.newest().filter(status=Link.Status.STANDS, child=item_by_code("P1")).exists()


@pytest.mark.parametrize(
    "rows",
    [[], [{"tank": "TK-1"}], [{"tank": "TK-1", "amount": "1 kg", "lot": "R1"}], [{"amount": "1 kg"}]],
    ids=["none", "no-amount", "both", "of-nothing"],
)
def test_what_names_no_component_is_refused_and_kept(rows):
    (answer,) = send(tablet(), entry("meter", hours=0.4, done=True, pot="P1", mix="EPOXY", components=rows))
    assert (answer["outcome"], answer["code"]) == ("refused", "malformed")


def test_it_is_offered_where_pots_are_mixed_and_a_tank_holds_a_part_of_the_mix():
    def names(kind: str) -> list[str]:
        return [words for name, _, words in offered(bool, kind) if name == "metered"]

    assert (names("mixing"), names("press")) == (["From the machine: EPOXY"], [])


def test_a_tablet_takes_along_what_a_tank_holds_and_what_in_it_is_held():
    place_hold("R1", reason="leak", said=builders.said(0.4, by="review"))
    tanks = snapshot_for(builders.a_person("operator"), "")["tanks"]
    assert tanks == [{"code": "BIN-1"}, {"code": "TK-1", "part": "RES-A", "left": "5000 g", "held": "R1"}]
