"""The clock of a pot: minutes left, where its surface stands, what it says when it has ended, and whose pot it is."""

from datetime import timedelta

import pytest
from django.urls import reverse

from records.floor.pot_clock import PotClock, clock_told, pot_clocks
from records.floor.waits import longest_wait
from records.items.pots import standing_pots
from records.items.queries import item_by_code
from tests import builders
from tests.records.floor.test_views import screen, text
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_pot("P1", hours=0)  # good for 45 min
    clock_at(builders.moment(0.25))


@pytest.mark.parametrize(
    ("hours", "minutes", "state", "level"),
    [(0, 45, "run", 20), (0.25, 30, "run", 70), (0.6, 9, "watch", 140), (0.75, 0, "over", 170), (0.9, 0, "over", 170)],
)
def test_it_drains_to_its_end_and_is_watched_from_ten_minutes_on(hours, minutes, state, level):
    (pot,) = standing_pots(builders.moment(hours))
    shown = PotClock(pot, builders.moment(hours))
    assert (shown.minutes, shown.state, shown.level) == (minutes, state, level)


def test_a_pot_that_ended_is_told_of_for_half_an_hour_and_one_in_use_comes_first(clock_at):
    builders.a_pot("P2", hours=0.5)
    clock_at(builders.moment(0.9))
    assert [(one.pot.code, one.state) for one in pot_clocks()] == [("P2", "run"), ("P1", "over")]
    clock_at(builders.moment(1.26))
    assert [one.pot.code for one in pot_clocks()] == ["P2"]


def test_an_empty_pot_has_no_clock():
    builders.a_mould_to_fill("F1")
    builders.a_front("F9", tube="T9", hours=0.2, pots=["P1"])
    (pot,) = pot_clocks()
    assert pot.pot.left == 115_000_000


def test_the_pot_that_was_scanned_is_the_one_that_is_shown():
    builders.a_pot("P2", hours=0.1)
    assert clock_told({}).pot.code == "P1"
    assert clock_told({"pot-1": "p2"}).pot.code == "P2"


def test_the_minutes_stand_on_every_screen_of_the_fill():
    builders.a_mould_to_fill("F1", hours=0.01)
    builders.a_leak_test(hours=0.1)
    fill = {"unit": "F1", "operation": "fill"}
    for page in (
        screen(tablet(), "MOULD-1", "step", **fill),
        screen(tablet(), "MOULD-1", "step", **fill, **{"pot-1": "P1"}),
        tablet().get(reverse("floor:unit_here", args=["MOULD-1", "F1"])),
    ):
        assert '<p class="pot-left" role="timer" aria-live="off"><b data-minutes>30</b>' in text(page)
        assert "do not cover it" in text(page)


def test_no_wait_is_longer_than_the_pot_has(clock_at):
    builders.a_mould_to_fill("F1", hours=0.01)
    builders.a_leak_test(hours=0.1)
    assert longest_wait(item_by_code("F1"), builders.moment(0.7)) == 3
    builders.a_pot("P2", hours=0.65)
    assert longest_wait(item_by_code("F1"), builders.moment(0.7)) == 3  # of the one that ends first


def test_a_unit_that_is_still_to_be_filled_waits_no_longer_than_the_pot_whatever_was_checked(clock_at):
    builders.a_mould_to_fill("F1", hours=0.01)
    ends = item_by_code("P1").good_until
    assert longest_wait(item_by_code("F1"), ends - timedelta(minutes=4)) == 4
    assert longest_wait(item_by_code("F1"), ends + timedelta(minutes=1)) == 10
