"""The page of the gate, and letting a unit go."""

import csv
from datetime import datetime, timedelta

import pytest
from django.urls import reverse

from plant.people.queries import works_zone
from records.items.models import ConsignmentLine
from records.items.queries import item_by_code
from records.release.actions import release_units, standing_release
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


def test_frames_that_wait_are_taken_along_and_none_is_said_why(review):
    going = reverse("release:going")
    taken = list(csv.DictReader(text(review.get(going, {"form": "csv"})).splitlines()))
    assert worlds.HERE in {line["Frame"] for line in taken}
    assert "To do" not in taken[0]
    assert "See its gate" not in text(worlds.signed_in("auditor").get(going))
    for line in taken:
        release_units([line["Frame"]], said=worlds.by())
    assert "a frame comes here when the last step of its route is on file" in text(review.get(going))


def test_what_was_shipped_is_listed_narrowed_and_taken_along(review):
    gone = reverse("release:gone")

    def listed(**asked):
        return [row.record.item.code for row in review.get(gone, asked).context["list"].table.rows]

    line = ConsignmentLine.objects.get(item__state__code=worlds.SHIPPED, consignment__direction="ship")
    day = line.consignment.at.astimezone(works_zone()).date()
    assert listed() == listed(code=worlds.SHIPPED.lower()) == [worlds.SHIPPED]
    assert listed(since=str(day), until=str(day), to=str(line.consignment.place)[:6]) == [worlds.SHIPPED]
    assert listed(since=str(day + timedelta(days=1))) == listed(until=str(day - timedelta(days=1))) == []
    assert listed(sort="to") == listed(sort="-back") == [worlds.SHIPPED]
    assert "1 unit was shipped" in text(review.get(gone))
    told = next(csv.DictReader(text(review.get(gone, {"form": "csv"})).splitlines()))
    assert (told["Unit"], told["Shipment"], told["Came back"]) == (worlds.SHIPPED, line.consignment.code, "")
    assert datetime.fromisoformat(told["Shipped"]) == line.consignment.at
