"""Nothing goes to an outside party before its route has made it safe."""

import pytest

from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.steps.actions import send_out
from tests import builders
from tests.builders import said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


def test_a_front_that_is_not_vented_goes_to_nobody_and_told_as_done_it_is_kept_and_flagged():
    builders.a_front("F1")
    with refuses_or_flags("out-of-order", "vent of F1 is not on file") as both:
        both(lambda told: send_out(["F1"], to="Beck Painters", said=told))
    assert item_by_code("F1").state.where == "out"


def test_what_comes_after_its_making_safe_may_wait_until_it_is_back():
    builders.a_vented_front("F1")
    send_out(["F1"], to="Beck Painters", said=(told := said(1)))
    assert flags_of(told.key) == []


def test_one_that_may_not_go_keeps_the_others_here():
    builders.a_vented_front("F1")
    builders.a_front("F2")
    with refuses("out-of-order", "F2"):
        send_out(["F1", "F2"], to="Beck Painters", said=said(1))


def test_a_route_without_such_a_step_lets_its_units_go():
    builders.a_rear("B1")
    send_out(["B1"], to="Beck Painters", said=(told := said(1)))
    assert flags_of(told.key) == []
