"""The first page tells what stands behind each door."""

import pytest
from django.urls import reverse

from records.items.actions import place_hold
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(9))


def findings(role: str) -> dict[str, tuple[str, bool]]:
    doors = tablet(role).get(reverse("home")).context["doors"]
    return {door.area.word: (door.finding, door.waits) for door in doors}


def test_an_idle_works_says_plainly_that_nothing_waits():
    found = findings("review")
    assert found["Review"] == ("Nothing waits for a decision.", False)
    assert found["Floor"] == ("No unit waits for a step.", False)
    assert found["Plant"] == ("Nothing here is held.", False)
    assert found["Trace"] == ("", False)


def test_what_waits_is_counted_and_marked():
    builders.a_front("F1")
    builders.a_front("F2")
    place_hold("F1", reason="doubt", words="smells of solvent", said=builders.said(2))
    found = findings("review")
    assert found["Floor"] == ("2 units wait for a step.", True)
    assert found["Plant"] == ("1 hold binds on what is here. The longest queue is vent of OSIER-F.", True)
    assert found["Review"][0].startswith("1 matter waits, the oldest since ")


def test_nobody_is_told_of_an_area_that_they_do_not_see():
    assert set(findings("operator")) == {"Floor"}
