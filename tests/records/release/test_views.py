"""The page of the gate, and letting a unit go."""

import pytest
from django.urls import reverse

from records.items.queries import item_by_code
from records.release.actions import standing_release
from tests import worlds

pytestmark = [pytest.mark.usefixtures("straight_week"), pytest.mark.django_db]
ADDRESS = "release:unit_release"


@pytest.fixture
def review():
    worlds.a_straight_week()
    return worlds.signed_in("review")


def text(response) -> str:
    return response.content.decode()


def test_the_gate_is_told_line_by_line(review):
    page = text(review.get(reverse(ADDRESS, args=[worlds.HERE])))
    assert "All lines of the gate are met" in page
    for line in ("bond", "polish", "final"):
        assert line in page


def test_a_held_unit_shows_what_is_open_and_no_press(review):
    worlds.matters_waiting()
    page = text(review.get(reverse(ADDRESS, args=[worlds.HERE])))
    assert "1 line of the gate is open" in page
    assert 'name="key"' not in page


def test_a_held_unit_is_not_released_by_a_form_sent_all_the_same(review):
    worlds.matters_waiting()
    response = worlds.press(review, reverse(ADDRESS, args=[worlds.HERE]))
    assert response.status_code == 200
    assert standing_release(item_by_code(worlds.HERE)) is None


def test_a_unit_is_released_and_then_shipped(review):
    released = worlds.press(review, reverse(ADDRESS, args=[worlds.HERE]))
    assert released.headers["Location"] == reverse("release:unit_ship", args=[worlds.HERE])
    shipped = worlds.press(review, reverse("release:unit_ship", args=[worlds.HERE]), to="Dealer Larkmere")
    assert shipped.headers["Location"] == reverse("trace:unit", args=[worlds.HERE])
    assert item_by_code(worlds.HERE).state.where == "shipped"


@pytest.mark.parametrize("password", ["", "another one"])
def test_nothing_is_released_without_the_password_of_who_is_in(review, password):
    response = worlds.press(review, reverse(ADDRESS, args=[worlds.HERE]), password=password)
    assert response.status_code == 200
    assert 'id="id_password_error"' in text(response)
    assert standing_release(item_by_code(worlds.HERE)) is None


def test_a_lot_has_no_gate(review):
    assert review.get(reverse(ADDRESS, args=[worlds.RESIN])).status_code == 404
