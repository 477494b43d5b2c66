"""A pot is weighed: what needs no resin comes first, each mass is read twice, a scale too coarse is said."""

import json

import pytest

from plant.catalogue import specs
from plant.equipment.actions import Found, calibrate_gauge
from plant.quantities import read_quantity
from records.items.actions import charge_tank, release_at_risk
from records.items.models import WeighedOn
from records.ledger.models import EntryBody
from tests import builders
from tests.records.floor.test_views import asked, log, screen, text
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
RESIN = {"mix": "EPOXY", "scale": "SCALE-1", "component-1-1-lot": "R1", "component-1-1-amount": "100"}
BASE = RESIN | {"component-1-1-amount-again": "100", "component-2-1-lot": "H1"}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    clock_at(builders.moment(0.5))


def weigh(**told: str):
    return screen(tablet(), "MOULD-1", "pot", **told)


def test_each_mass_is_read_twice_and_a_slip_of_the_finger_is_told():
    assert asked(weigh(**RESIN)) == "Read the scale once more"
    slip = weigh(**RESIN, **{"component-1-1-amount-again": "10"})
    assert "First 100 g, now 10 g. Read it once more, or go back one step." in text(slip)


def test_a_part_is_poured_to_its_own_ratio_and_the_last_reading_starts_the_clock():
    poured = weigh(**BASE)
    assert asked(poured) == "Pour HRD-A to 30 g"
    last = weigh(**BASE, **{"component-2-1-amount": "30"})
    assert (last.context["is_last"], "Start the pot clock" in text(last)) == (True, True)
    told = BASE | {"component-2-1-amount": "30", "component-2-1-amount-again": "30.0"}
    log(tablet(), "MOULD-1", "pot", **told)
    body = json.loads(EntryBody.objects.latest("pk").payload)
    assert body["told"]["read_again"] == ["100", "30.0"]  # sealed with the pot


def test_a_scale_that_cannot_judge_a_part_is_said_before_it_is_poured():
    calibrate_gauge("SCALE-1", Found("good", resolution="2", unit="g"), said=builders.said(0))
    page = weigh(**{name: told for name, told in BASE.items() if "component-2" not in name})
    assert asked(page) == "This scale is too coarse"
    assert "This scale reads 2 g; HRD-A may be off by 1.5 g at most. Use the fine scale." in text(page)
    again = weigh(**BASE, **{"component-2-scale-stop": "again"})
    assert "scale" not in dict(pair.split("=") for pair in again.url.split("?")[1].split("&"))


def test_no_resin_is_weighed_before_a_mould_is_closed_and_tested():
    builders.a_mould_to_fill("F1")
    page = weigh(mix="EPOXY")
    assert asked(page) == "No mould is ready to be filled"
    assert asked(weigh(mix="EPOXY", moulds="as")) == "Scan the scale"
    builders.a_leak_test(hours=0.3)
    ready = weigh(mix="EPOXY")
    assert asked(ready) == "Scan the scale"
    assert "Leak-test good until 09:03" in text(ready)


def test_the_shots_that_a_pot_serves_and_its_heat_are_told_beside_the_scale():
    builders.a_mould_to_fill("F1")
    builders.a_leak_test(hours=0.3)
    page = text(weigh(**BASE))
    assert "It serves 8 shots of 15 g; 10 g stay in the cup." in page
    assert "130 g in one cup heats itself. Never leave it covered. The data sheet comes first." in page


def test_a_mass_above_that_of_the_data_sheet_is_warned_of_by_its_own_figure():
    parts = {"RES-A": "100", "HRD-A": "30"}
    builders.agreed(specs.MixSpec("EPOXY", "MIX-A", parts, "0.05", 45, hot_from="120 g"), hours=-50)
    assert "130 g in one cup: the data sheet warns of heat from 120 g. Weigh less." in text(weigh(**BASE))


def test_the_scale_goes_up_with_each_mass():
    told = BASE | {"component-2-1-amount": "30", "component-2-1-amount-again": "30"}
    log(tablet(), "MOULD-1", "pot", **told)
    assert set(WeighedOn.objects.values_list("link__parent__state__code", "scale__code")) == {
        ("R1", "SCALE-1"),
        ("H1", "SCALE-1"),
    }


BESIDE = BASE | {"component-2-1-amount": "30", "component-2-1-amount-again": ""}


def test_another_person_may_confirm_a_typed_mass_in_place_of_a_second_reading():
    page = weigh(**BESIDE)
    assert "Another person read it too" in text(page)
    told = json.loads(page.context["entry"])
    assert told["needs_second"] == "A typed mass that is read once is confirmed by another person."
    assert told["payload"]["beside"] is True
    assert told["payload"]["again"] == ["100"]


def test_a_pot_that_another_person_was_to_confirm_is_not_taken_without_their_badge():
    pressed, _ = log(tablet(), "MOULD-1", "pot", **BESIDE)
    assert "This needs a second person" in text(pressed)
    assert not WeighedOn.objects.exists()
    masses = [{"lot": "R1", "amount": "100 g"}, {"lot": "H1", "amount": "30 g"}]
    told = entry("mix", hours=0.4, done=True, pot="P1", mix="EPOXY", components=masses, beside=True)
    (answer,) = send(tablet(), told)
    assert (answer["outcome"], answer["flags"]) == ("flagged", ["second-person"])


def test_more_than_is_on_file_is_asked_about_and_taken_where_it_is_so():
    builders.a_lot("R2", quantity="1200 g")
    told = RESIN | {"component-1-1-lot": "R2", "component-1-1-amount": "1300"}
    page = weigh(**told)
    assert asked(page) == "There are only 1200 g left on file"
    assert "You told 1300 g." in text(page)
    again = weigh(**told, **{"component-1-1-amount-over": "again"})
    assert "component-1-1-amount" not in again.url
    assert asked(weigh(**told, **{"component-1-1-amount-over": "as"})) == "Read the scale once more"
    assert asked(weigh(**(told | {"component-1-1-amount": "1200"}))) == "Read the scale once more"


def test_more_than_a_release_at_risk_allows_is_said_before_it_is_poured_and_marked_where_it_was():
    builders.a_delivery("R2", quantity="20 kg")
    limits = {"limit": read_quantity("1 kg"), "until": builders.moment(90)}
    release_at_risk("R2", words="certificate late", **limits, said=builders.said(0.1))
    told = RESIN | {"component-1-1-lot": "R2", "component-1-1-amount": "1300"}
    page = weigh(**told)
    assert asked(page) == "R2 may not go in"
    assert "for 1 kg more. You told 1300 g." in text(page)
    assert "component-1-1-amount" not in weigh(**told, **{"component-1-1-amount-stop": "again"}).url
    so = weigh(**told, **{"component-1-1-amount-stop": "done"})
    assert asked(so) == "Read the scale once more"
    assert asked(weigh(**(told | {"component-1-1-amount": "1000"}))) == "Read the scale once more"
    twice = {"component-1-1-amount": "700", "component-1-1-amount-again": "700", "component-1-1-amount-more": "yes"}
    more = told | twice | {"component-1-2-lot": "R2", "component-1-2-amount": "301"}
    assert "You told 1001 g of it in all." in text(weigh(**more))


def test_draws_of_one_lot_in_a_pot_count_together_and_it_is_asked_about_once():
    builders.a_lot("R2", quantity="1200 g")
    first = RESIN | {"component-1-1-lot": "R2", "component-1-1-amount": "700", "component-1-1-amount-again": "700"}
    told = first | {"component-1-1-amount-more": "yes", "component-1-2-lot": "R2", "component-1-2-amount": "800"}
    page = weigh(**told)
    assert asked(page) == "There are only 1200 g left on file"
    assert "You told 1500 g of it in all." in text(page)
    told |= {"component-1-2-amount-over": "as", "component-1-2-amount-again": "800", "component-1-2-amount-more": "yes"}
    third = told | {"component-1-3-lot": "R2", "component-1-3-amount": "100"}
    assert asked(weigh(**third)) == "Read the scale once more"
    other = told | {"component-1-3-lot": "R1", "component-1-3-amount": "60000"}
    assert "You told 60000 g." in text(weigh(**other))  # another lot is another question


@pytest.mark.parametrize(
    ("task", "told", "held"),
    [
        ("charge", {"lot": "R2", "amount": "1300"}, "1200 g"),
        ("draw", {"amount": "700"}, "500 g"),
    ],
)
def test_so_it_is_where_a_tank_is_charged_or_drawn_from(task, told, held):
    builders.a_lot("R2", quantity="1700 g")
    charge_tank("TK-1", lot=builders.of("R2", "500 g"), said=builders.said(0.1))
    page = screen(tablet(), "MOULD-1", task, tank="TK-1", **told)
    assert asked(page) == f"There are only {held} left on file"
    so = screen(tablet(), "MOULD-1", task, tank="TK-1", **told, **{"amount-over": "as"})
    assert "amount-over" in dict(so.context["hidden"])
