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


def test_released_frames_are_shipped_together_and_who_got_some_before_is_offered(review):
    address = reverse("release:going")
    assert "1 frame waits for release, 0 can be shipped" in text(review.get(address))
    worlds.press(review, reverse(ADDRESS, args=[worlds.HERE]))
    page = text(review.get(address))
    assert "0 frames wait for release, 1 can be shipped" in page
    assert '<option value="Dealer' in page
    response = worlds.press(review, address, codes=[worlds.HERE], to="Dealer Larkmere")
    assert "/stores/consignment/SH-" in response.headers["Location"]
    assert item_by_code(worlds.HERE).state.where == "shipped"
    assert "No frame stands at the door" in text(review.get(address))


def test_what_is_not_released_is_not_shipped_with_the_rest_and_what_was_typed_stays(review):
    page = text(worlds.press(review, reverse("release:going"), codes=[worlds.HERE], to="Dealer Larkmere"))
    assert f"{worlds.HERE} is not released any more, or has gone" in page
    worlds.press(review, reverse(ADDRESS, args=[worlds.HERE]))
    page = text(worlds.press(review, reverse("release:going"), to="Dealer Larkmere"))
    assert "Choose at least one" in page
    assert 'value="Dealer Larkmere"' in page
