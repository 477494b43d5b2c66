"""A pot is weighed: what needs no resin comes first, each mass is read twice, a scale too coarse is said."""

import json

import pytest

from plant.catalogue import specs
from plant.equipment.actions import Found, calibrate_gauge
from records.ledger.models import EntryBody
from tests import builders
from tests.records.floor.test_views import asked, log, screen, text
from tests.records.floor.told import tablet

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
