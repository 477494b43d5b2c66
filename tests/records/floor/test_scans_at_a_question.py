"""What a scanner types into a question: a symbol gives its code, what looks misread is told and not taken."""

import pytest

from plant.catalogue import specs
from plant.quantities import read_quantity
from records.floor.snapshot import snapshot_for
from records.items.actions import Delivery, charge_tank, receive_lot
from records.release.actions import print_label
from tests import builders
from tests.records.floor.test_views import asked, screen, text
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db

WIND = {"part": "TUBE", "tool": "MD-1"}
PROGRAMME = specs.ReadingSpec("programme", "text")
SYMBOL = "[)>\x1e06\x1d1TSP1\x1d1PFIB-UD\x1dZ1\x1e\x04"


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_spool("SP1")
    clock_at(builders.moment(5))


def test_a_symbol_answers_with_the_code_that_stands_in_it():
    page = screen(tablet(), "WIND-1", "make", **WIND, **{"spools-1-lot": SYMBOL})
    assert asked(page) == "How much of SP1?"
    page = screen(tablet(), "WIND-1", "make", part="TUBE", tool="[)>\x1e06\x1dSMD-1\x1e\x04")
    assert asked(page) == "Scan the spool"


@pytest.mark.parametrize("stated", [{}, {"spools-1-lot-part": "FIB-UD"}])
def test_a_code_by_another_keyboard_layout_is_not_taken_whatever_part_is_stated(stated):
    page = screen(tablet(), "WIND-1", "make", **WIND, **{"spools-1-lot": "FRZß0417"}, **stated)
    assert "The scanner’s keyboard layout looks wrong: FRZß0417 came." in text(page)
    assert asked(page) == "Scan the spool"


def test_an_old_label_is_named_on_the_next_screen_whatever_it_was_scanned_for():
    for hours in (0, 1):
        print_label("SP1", reason="torn" if hours else "", said=builders.said(hours))
    page = screen(tablet(), "WIND-1", "make", **WIND, **{"spools-1-lot": SYMBOL})
    assert asked(page) == "How much of SP1?"
    assert "That is label 1 of SP1; label 2 was printed after it. Take the old one off." in text(page)
    page = screen(tablet(), "WIND-1", "make", **WIND, **{"spools-1-lot": SYMBOL.replace("Z1", "Z2")})
    assert "label 2 was printed" not in text(page)


def test_a_lot_whose_fields_ran_together_is_asked_again_and_taken_once_its_part_is_stated():
    lost = {"spools-1-lot": "]d2010952123454404310BTCH0033740"}
    page = screen(tablet(), "WIND-1", "make", **WIND, **lost)
    assert "The label may say BTCH003 and 3740, or BTCH0033740." in text(page)
    page = screen(tablet(), "WIND-1", "make", **WIND, **lost, **{"spools-1-lot-part": "FIB-UD"})
    assert asked(page) == "How much of BTCH0033740?"


def test_a_suppliers_number_names_the_lots_that_came_under_it_and_is_taken_for_none():
    packages = [builders.of("K1", "1 kg"), builders.of("K2", "1 kg"), builders.of("K3", "1 kg")]
    told = Delivery(
        part="FIB-UD", quantity=read_quantity("3 kg"), supplier="Fell", supplier_lot="000417", packages=packages
    )
    receive_lot("SP7", told, said=builders.said(0))
    page = screen(tablet(), "WIND-1", "make", **WIND, **{"spools-1-lot": "000417"})
    assert "000417 is the supplier’s number of K1, K2, K3, …. Scan the label that the house put on it." in text(page)
    assert asked(page) == "Scan the spool"
    page = screen(tablet(), "WIND-1", "make", **WIND, **{"spools-1-lot": "417"})
    assert "No such code here: 417." in text(page)  # leading noughts are part of it
    numbers = {row["code"]: row.get("theirs") for row in snapshot_for(builders.a_person("operator"), "")["lots"]}
    assert (numbers["K1"], numbers["K2"], numbers["SP1"]) == ("000417", "000417", None)


def test_what_is_drawn_of_a_tank_with_something_barred_in_it_is_asked_about_on_the_floor():
    builders.a_lot("R8", quantity="10 kg", expires=builders.moment(-24).date(), hours=-72)
    charge_tank("TK-1", lot=builders.of("R8", "5 kg"), said=builders.said(-60))
    page = screen(tablet(), "WIND-1", "draw", tank="TK-1")
    assert asked(page) == "Something in TK-1 may not be used"
    assert "R8 is past its end" in text(page)
    assert asked(screen(tablet(), "WIND-1", "draw", tank="TK-1", **{"tank-stop": "done"})) == "How much was drawn?"


def test_a_tank_that_holds_something_by_its_log_is_not_told_to_be_clean_without_being_asked_about():
    assert "Is this right?" in text(screen(tablet(), "WIND-1", "clean", tank="TK-1"))
    builders.a_lot("R8", quantity="10 kg")
    charge_tank("TK-1", lot=builders.of("R8", "5 kg"), said=builders.said(0))
    page = screen(tablet(), "WIND-1", "clean", tank="TK-1")
    assert asked(page) == "Is TK-1 empty?"
    assert "TK-1 still holds 5 kg by its log." in text(page)
    page = screen(tablet(), "WIND-1", "clean", tank="TK-1", **{"tank-stop": "done"})
    assert "is kept and marked" in text(page) or "Is this right?" in text(page)


def test_a_unit_that_looks_misread_is_told_at_the_station():
    page = tablet().get("/floor/at/TRIM-1/", {"code": "TW-26-OOO396-8"})
    assert "If its label says TW-26-000396-8, type it so" in text(page)


def test_another_kind_is_named_with_what_is_due_and_how_its_codes_begin():
    builders.a_front("F1")
    page = screen(tablet(), "MOULD-1", "make", part="OSIER-F", tool="ML-1", **{"preforms-1": "F1"})
    assert "That is front F1. Due here: preform. Look for a code that starts with PF." in text(page)


@pytest.mark.parametrize("scanned", ["FB-26-000050-9", "fb26000050-9", SYMBOL])
def test_a_spool_scanned_where_the_programme_is_asked_for_is_not_taken_for_it(scanned):
    route = specs.RouteSpec("TUBE", [builders.STEP("wind", tool_kind="mandrel", readings=[PROGRAMME])])
    builders.agreed(route)
    told = WIND | {"spools-1-lot": "SP1", "spools-1-amount": "3"}
    page = screen(tablet(), "WIND-1", "make", **told, **{"reading-1": scanned})
    assert asked(page) == "Programme"
    assert "Asked for here: Programme. If one more thing goes in, go back one step." in text(page)
    assert "Is this right?" in text(screen(tablet(), "WIND-1", "make", **told, **{"reading-1": "rev 4", "unit": ""}))
