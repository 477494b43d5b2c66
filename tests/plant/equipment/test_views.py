"""Pages of equipment: something is added, a gauge is checked."""

import csv
import re

import pytest
from django.urls import reverse

from plant.equipment.models import Calibration, Gauge, Recorder, Station, Tool
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def press(page: str, /, *args: str, role: str = "engineer", **told: str):
    client, address = tablet(role), reverse(f"equipment:{page}", args=args)
    form = client.get(address).context["form"]
    return client.post(address, {field: str(form.initial[field]) for field in ("key", "drawn_at")} | told, follow=True)


def test_a_tool_a_station_and_a_gauge_are_added():
    press("equipment_add", what="tool", code="ML-9", kind="mould")
    press("equipment_add", what="station", code="PRESS-9", kind="press", name="Press 9")
    press("equipment_add", what="gauge", code="GA-9", kind="bore-gauge", unit_kind="length")
    assert (Tool.objects.filter(code="ML-9").exists(), str(Station.objects.get(code="PRESS-9"))) == (True, "Press 9")
    assert Gauge.objects.get(code="GA-9").unit_kind == "length"


def test_a_recorder_keeps_the_zone_of_its_clock_and_one_that_is_none_is_told():
    page = press("equipment_add", what="recorder", code="RC-9", zone="Atlantis")
    assert "Atlantis is no time zone on file" in page.content.decode()
    press("equipment_add", what="recorder", code="RC-9", zone="Europe/London")
    assert Recorder.objects.get(code="RC-9").zone == "Europe/London"


def test_what_is_wrong_is_told_in_words():
    assert "is no kind of tool" in press("equipment_add", what="tool", code="ML-9", kind="hammer").content.decode()
    assert "has no slash" in press("equipment_add", what="station", code="P/9", kind="press").content.decode()
    assert "ML-1" in press("equipment_add", what="tool", code="ML-1", kind="mould").content.decode()
    assert Tool.objects.filter(code="ML-1").count() == 1


def test_a_check_is_put_on_file_in_the_unit_of_the_gauge():
    press("gauge_calibrate", "GA-1", result="out", unit="mm", error="0.08", due_on="2026-12-31", certificate="K 12")
    assert (Calibration.objects.get().error, Calibration.objects.get().result) == (80_000, "out")


def test_a_number_that_cannot_be_read_is_told():
    page = press("gauge_calibrate", "GA-1", result="good", unit="mm", error="little")
    assert "can&#x27;t be read as a number" in page.content.decode()
    assert not Calibration.objects.exists()


def test_a_gauge_that_is_not_on_file_is_not_found():
    assert tablet().get(reverse("equipment:gauge_calibrate", args=["GA-7"])).status_code == 404


def test_the_list_begins_with_the_gauges_that_are_past_their_check():
    press("gauge_calibrate", "GA-1", result="good", unit="mm", due_on="2026-01-31")
    page = tablet("engineer").get(reverse("equipment:equipment_list")).content.decode()
    assert "<h1>2 gauges are past their check</h1>" in page
    assert page.index('<tr id="GA-LATE">') < page.index('<tr id="SCALE-1">')


def listed(**asked: str) -> list[str]:
    rows = tablet("engineer").get(reverse("equipment:equipment_list"), asked).context["list"].table.rows
    return [row.record.code for row in rows]


def test_equipment_is_narrowed_by_what_it_is_by_words_and_by_code():
    assert "ML-1" in listed(what="tool")
    assert set(listed(what="gauge")) == {"GA-1", "GA-LATE", "SCALE-1"}
    assert listed(words="MOULD", what="tool") == ["ML-1", "ML-2"]
    assert listed(code="ml-1") == ["ML-1"]
    assert listed(code="ml-1", what="gauge") == []


def test_equipment_is_taken_along_whole_with_days_in_full_and_without_what_is_to_do():
    taken = tablet("engineer").get(reverse("equipment:equipment_list"), {"form": "csv", "what": "gauge"})
    lines = list(csv.DictReader(taken.content.decode().splitlines()))
    told = {line["Code"]: line["Past its check"] for line in lines}
    assert told == {"GA-1": "no", "GA-LATE": "yes", "SCALE-1": "no"}
    assert "To do" not in lines[0]
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\d|", line["Good until"]) for line in lines)
