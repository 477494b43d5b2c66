"""What the gates ask to the last step and to the moment: all that is left may be taken; what came later is none."""

import pytest

from plant.catalogue.queries import tank_by_code
from plant.quantities import read_quantity
from records.items.actions import merge_lots, scrap, split_lot, withdraw
from records.items.gates import ask_amount, ask_contents
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from tests import builders
from tests.builders import of, said
from tests.refusing import refuses

pytestmark = pytest.mark.django_db
KILO = 10**9


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


def test_all_that_is_left_may_be_taken_and_not_a_step_more():
    builders.a_lot("R1", quantity="1 kg")
    ask_amount(item_by_code("R1"), read_quantity("1 kg"), said())
    with refuses("over-drawn", "R1 holds 1 kg by the records"):
        ask_amount(item_by_code("R1"), read_quantity("1.000001 kg"), said())
    ask_amount(item_by_code("R1"), read_quantity("2 kg"), said(done=True))


def test_all_that_a_tank_holds_may_be_drawn_and_not_a_step_more():
    tank = tank_by_code("TK-1")
    ask_contents(tank, KILO, read_quantity("1 kg"), said())
    with refuses("over-drawn", "TK-1 holds 1 kg by its log"):
        ask_contents(tank, KILO, read_quantity("1.000001 kg"), said())


def test_a_second_press_is_not_asked_about_what_the_first_has_taken():
    builders.a_lot("R1", quantity="1 kg")
    split_lot("R1", [of("S1", "1 kg")], said=(told := said()))
    ask_amount(item_by_code("R1"), read_quantity("1 kg"), told)


def test_a_step_before_the_unit_was_scrapped_is_plainly_taken():
    builders.a_vented_front("F1")
    scrap("F1", words="cracked", said=said(6))
    assert flags_of(builders.a_step("F1", "trim", hours=5).entry.key) == []
    with refuses("scrapped"):
        builders.a_step("F1", "trim", hours=6.1)


def test_a_link_that_was_taken_back_closes_no_loop():
    builders.a_lot("R1")
    split_lot("R1", [of("S1", "1 kg"), of("S2", "1 kg")], said=said())
    merge_lots("S1", [of("S2", "100 g")], said=(first := said(1)))
    withdraw(first.key, was="S2", words="it was S3", said=said(2))
    merge_lots("S2", [of("S1", "100 g")], said=(second := said(3)))
    assert flags_of(second.key) == []
    merge_lots("S1", [of("S2", "100 g")], said=(third := said(4)))
    assert flags_of(third.key) == ["loop"]
