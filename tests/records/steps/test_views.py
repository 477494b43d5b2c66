"""The Plant page: queues in the order of the routes, the longest named, and what is held."""

import pytest
from django.urls import reverse

from records.items.actions import place_hold
from records.steps.actions import send_out
from records.steps.queries import queues
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(9))


def page() -> str:
    return tablet("manager").get(reverse("steps:today")).content.decode()


def test_an_idle_works_says_so():
    assert "Nothing waits" in page()
    assert "Nothing here is held" in page()


def test_the_longest_queue_is_named_with_its_units():
    builders.a_front("F1")
    builders.a_front("F2")
    builders.a_rear("B1")
    told = page()
    assert "The longest queue is vent of OSIER-F, 2 wait" in told
    assert [(q.operation.name, len(q.units)) for q in queues()] == [("vent", 2), ("trim", 1)]


def test_what_is_held_is_told_with_its_reason():
    builders.a_front("F1")
    place_hold("F1", reason="doubt", words="smells of solvent", said=builders.said(2))
    assert "1 hold binds on what is here" in page()
    assert "smells of solvent" in page()


def test_a_unit_that_has_left_waits_for_nothing_here():
    builders.a_vented_front("F1")
    send_out(["F1"], to="Painter", said=builders.said(3))
    assert queues() == []
