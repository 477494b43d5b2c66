"""Pages of inspection: the sheet takes what was read, tells what lies outside, and a wrong value is put right."""

import csv
from datetime import datetime

import pytest
from django.urls import reverse

from plant.equipment.actions import Found, calibrate_gauge
from plant.equipment.models import Calibration
from plant.people.actions import set_pin
from plant.people.queries import person_by_badge
from records.inspection.models import Measurement
from records.inspection.queries import latest_of
from records.items.queries import holds_on, item_by_code
from records.ledger.clock import clock
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
SHEET = "inspection:sheet"


@pytest.fixture(autouse=True)
def front(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(builders.moment(5))


def text(response) -> str:
    return response.content.decode()


def fields(client, **told: str) -> dict[str, str]:
    """The fields of the sheet of F1 as it is drawn, with the bore filled in."""
    form = client.get(reverse(SHEET, args=["F1"])).context["form"]
    band = form.bands[0].pk
    hidden = {name: str(form.initial[name]) for name in ("key", "drawn_at")}
    return hidden | {f"c{band}-{name}": value for name, value in told.items()}


def send(client, **told: str):
    return client.post(reverse(SHEET, args=["F1"]), fields(client, **told), follow=True)


def test_a_value_within_is_logged_with_its_gauge():
    page = send(tablet(), **{"1": "34.92", "gauge": "GA-1"})
    measurement = Measurement.objects.get()
    assert (measurement.written, measurement.gauge.code) == ("34.92", "GA-1")
    assert "1 logged on F1" in text(page)


def test_the_sheet_shows_the_band_and_what_is_on_file():
    send(tablet(), **{"1": "34.9"})
    page = text(tablet().get(reverse(SHEET, args=["F1"])))
    assert "34.85 to 34.95 mm" in page
    assert "34.90" in page


def test_a_value_outside_is_kept_holds_the_unit_and_is_told():
    page = text(send(tablet(), **{"1": "34.96"}))
    assert "Outside the band: bore. The unit is held: put it on the red shelf." in page
    assert [hold.reason for hold in holds_on([item_by_code("F1").pk])] == ["measured-outside"]


def test_a_value_far_off_is_asked_for_once_more_and_kept_when_it_is_so():
    client = tablet()
    page = text(send(client, **{"1": "349.2"}))
    assert "lies far off the band" in page
    assert not Measurement.objects.exists()
    client.post(reverse(SHEET, args=["F1"]), fields(client, **{"1": "349.2"}) | {"sure": "on"})
    assert Measurement.objects.get().written == "349.2"


def test_what_was_not_read_says_why():
    send(tablet(), reason="cannot-reach")
    assert (Measurement.objects.get().value, Measurement.objects.get().reason) == (None, "cannot-reach")


def test_an_empty_sheet_and_an_unreadable_number_are_told():
    assert "The sheet is empty" in text(send(tablet()))
    assert "can&#x27;t be read as a number" in text(send(tablet(), **{"1": "3 4"}))
    assert not Measurement.objects.exists()


def test_a_second_press_logs_nothing_twice():
    client = tablet()
    told = fields(client, **{"1": "34.9"})
    for _ in range(2):
        client.post(reverse(SHEET, args=["F1"]), told)
    assert Measurement.objects.count() == 1


def address(name: str) -> str:
    measurement = Measurement.objects.order_by("-pk")[0]
    return reverse(f"inspection:{name}", args=[measurement.entry.key, "bore"])


def put_right(client, name: str, **told: str):
    form = client.get(address(name)).context["form"]
    hidden = {field: str(form.initial[field]) for field in ("key", "drawn_at")}
    return client.post(address(name), hidden | told)


def test_a_correction_from_outside_to_within_needs_a_second_persons_badge_and_pin():
    send(tablet(), **{"1": "34.96"})
    set_pin(person_by_badge("second"), "4711", said=builders.said(4))
    right = {"value": "34.92", "reason": "read-wrong"}
    assert "A second person must sign" in text(put_right(tablet(), "measurement_correct", **right))
    for told, words in (
        ({"second": "everybody", "pin": "1"}, "That is your own badge."),
        ({"second": "nobody", "pin": "1"}, "nobody"),
        ({"second": "second", "pin": "4712"}, "This is not the PIN of that badge."),
        ({"second": "lead", "pin": "4711"}, "No PIN is set for this badge."),
    ):
        assert words in text(put_right(tablet(), "measurement_correct", **right, **told))
    signed = put_right(tablet(), "measurement_correct", **right, second="second", pin="4711")
    assert signed.status_code == 302
    assert latest_of(item_by_code("F1"), "bore").verdict == "within"
    row = Measurement.objects.order_by("-pk")[0]
    assert (row.second.badge, row.reason) == ("second", "read-wrong")
    on_file = text(tablet().get(reverse(SHEET, args=["F1"])))
    assert '<s class="old">34.96</s> 34.92' in on_file  # beside each other, as the page that follows says
    assert Measurement.objects.count() == 2


def test_the_pin_of_a_second_person_can_not_be_guessed(settings):
    send(tablet(), **{"1": "34.96"})
    set_pin(person_by_badge("second"), "4711", said=builders.said(4))
    right = {"value": "34.92", "reason": "read-wrong", "second": "second"}
    for guess in range(settings.AXES_FAILURE_LIMIT):
        put_right(tablet(), "measurement_correct", **right, pin=str(1000 + guess))
    assert "Too many wrong PINs" in text(put_right(tablet(), "measurement_correct", **right, pin="4711"))


def test_a_value_of_another_frame_counts_as_not_read_on_this_one():
    send(tablet(), **{"1": "34.9"})
    assert put_right(tablet(), "measurement_correct", reason="wrong-frame").status_code == 302
    row = Measurement.objects.order_by("-pk")[0]
    assert (row.value, row.reason) == (None, "wrong-frame")


def test_a_reason_of_its_own_is_told_in_words():
    send(tablet(), **{"1": "34.9"})
    assert "Say what was wrong." in text(put_right(tablet(), "measurement_correct", value="34.91", reason="other"))


def test_a_value_taken_back_no_longer_stands():
    send(tablet(), **{"1": "34.9"})
    assert put_right(tablet(), "measurement_withdraw", words="wrong frame").status_code == 302
    assert latest_of(item_by_code("F1"), "bore").measurement is None


@pytest.mark.parametrize("code", ["F9", "P1"])
def test_only_a_unit_on_file_has_a_sheet(code):
    assert tablet().get(reverse(SHEET, args=[code])).status_code == 404


def test_a_gauge_found_out_names_what_it_turned():
    with clock.at(builders.moment(4)):
        send(tablet(), **{"1": "34.94", "gauge": "GA-1"})
    calibrate_gauge("GA-1", Found("out", error="-0.02", unit="mm"), said=builders.said(4.5))
    page = text(tablet().get(reverse("inspection:gauge_page", args=["GA-1"])))
    assert "GA-1 was found out; 1 reading stands in doubt" in page
    assert "1 within as read, outside when put right" in page
    assert "34.96" in page


def test_the_list_puts_gauges_found_out_and_overdue_first():
    rows = tablet().get(reverse("inspection:gauge_list")).context["list"].table.rows
    assert rows[0].record.gauge.code == "GA-LATE"
    assert tablet().get(reverse("inspection:gauge_page", args=["GA-9"])).status_code == 404


def listed(**asked: str) -> list[str]:
    rows = tablet().get(reverse("inspection:gauge_list"), asked).context["list"].table.rows
    return [row.record.gauge.code for row in rows]


def test_gauges_are_narrowed_by_how_they_stand_and_taken_along():
    calibrate_gauge("GA-1", Found("out", error="-0.02", unit="mm", certificate="K 12"), said=builders.said(4.5))
    assert listed()[0] == "GA-1"
    assert listed(stands="out") == listed(code="ga-1") == ["GA-1"]
    assert listed(stands="overdue") == ["GA-LATE"]
    assert "GA-1" not in listed(stands="none")
    page = text(tablet().get(reverse("inspection:gauge_list")))
    assert "1 gauge was found out at the last check, 1 is past its check" in page
    taken = text(tablet().get(reverse("inspection:gauge_list"), {"form": "csv", "stands": "out"}))
    line = next(csv.DictReader(taken.splitlines()))
    assert (line["Found"], line["Past its check"], line["Certificate"]) == ("out", "no", "K 12")
    assert datetime.fromisoformat(line["Last check"]) == Calibration.objects.get().done_at
