"""Numbers on the floor: slips asked about, what can't be read with its reason, and outside the band three keys."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from records.floor.numbers import WAIT_MIN
from records.floor.slips import is_far, meant
from records.inspection.models import Measurement
from records.ledger.models import Flag
from records.ledger.refusals import Refused
from records.steps.actions import Outside, Work, log_step, measure_again
from records.steps.models import MeasureAgain
from records.steps.queries import to_measure_again
from records.steps.recording import Read
from tests import builders
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
SHEET = {"unit": "F1", "gauge-1": ""}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(builders.moment(5))


def asked(**told: str):
    return tablet().get(reverse("floor:log", args=["TRIM-1", "measure"]), SHEET | told)


def page(**told: str) -> str:
    return asked(**told).content.decode()


# Slips, each by hand: typed, low, high, what was meant.
SLIPS = [
    ("594", "55", "65", "59.4"),
    ("5.94", "55", "65", "59.4"),
    ("7300", "72.85", "73.15", "73"),
    ("2.874", "72.85", "73.15", "73"),
    ("52.6", "55", "65", None),
    ("8", "", "0.8", "0.8"),
    ("0.9", "", "0.8", None),
    ("1", "", "0", None),
    ("-5", "0", "", None),
]


@pytest.mark.parametrize(("typed", "low", "high", "what"), SLIPS)
def test_a_slip_is_told_apart_from_a_reading(typed, low, high, what):
    limits = [Decimal(limit) if limit else None for limit in (low, high)]
    assert meant(Decimal(typed), *limits, inches=True) == ([what] if what else [])


def test_past_twice_the_width_is_far_whatever_side():
    low, high = Decimal(55), Decimal(65)
    assert [is_far(Decimal(text), low, high) for text in ("35", "34.9", "85", "85.1")] == [False, True, False, True]


def test_a_number_without_its_point_is_offered_with_it():
    text = page(**{"value-1-1": "349"})
    assert "Did you mean 34.9?" in text
    assert 'name="value-1-1" value="34.9"' in text
    assert 'name="value-1-1-slip" value="as"' in text
    assert "Keep it and hold the unit" not in text


def test_a_number_that_reads_so_goes_on_to_the_three_keys():
    text = page(**{"value-1-1": "349", "value-1-1-slip": "as"})
    keys = ("Read it again", f"Wait {WAIT_MIN} min, then measure again", "Keep it and hold the unit")
    assert all(word in text for word in keys)
    assert text.count('name="value-1-1-outside"') == 3


def test_a_number_a_little_outside_has_three_keys_at_once():
    text = page(**{"value-1-1": "35.1"})
    assert text.count('name="value-1-1-outside"') == 3
    assert "Did you mean" not in text


def test_reading_again_takes_back_the_slip_with_the_number():
    back = asked(**{"value-1-1": "349", "value-1-1-slip": "as", "value-1-1-outside": "again"})
    assert back.status_code == 302
    assert "349" not in back.url


def test_what_cannot_be_read_asks_why_and_is_a_fact():
    assert "Why can’t it be read?" in page(**{"value-1-1": ""})
    told = SHEET | {"value-1-1": "", "value-1-1-why": "gauge-doubtful"}
    told |= {"key": str(uuid4()), "made_at": builders.moment(5).isoformat()}
    answer = tablet().post(reverse("floor:log", args=["TRIM-1", "measure"]), told)
    assert answer.status_code == 302
    row = Measurement.objects.get()
    assert (row.value, row.reason) == (None, "gauge-doubtful")


def test_a_wait_keeps_the_reading_and_locks_its_sheet_until_then(clock_at):
    told = SHEET | {"value-1-1": "35.1", "value-1-1-outside": "wait"}
    assert f"Keep it and wait {WAIT_MIN} min" in page(**told)
    told |= {"key": str(uuid4()), "made_at": builders.moment(5).isoformat()}
    assert tablet().post(reverse("floor:log", args=["TRIM-1", "measure"]), told).status_code == 302
    wait = MeasureAgain.objects.get()
    assert (wait.written, (wait.until - builders.moment(5)).total_seconds()) == ("35.1", 60 * WAIT_MIN)
    assert not Measurement.objects.exists()
    here = reverse("floor:unit_here", args=["TRIM-1", "F1"])
    text = tablet().get(here).content.decode()
    assert "It read 35.1 mm, outside its band." in text
    assert "log/measure/" not in text
    clock_at(builders.moment(5.5))
    assert "log/measure/" in tablet().get(here).content.decode()


def test_a_step_that_waits_is_refused_until_then_and_one_told_as_done_is_marked():
    builders.a_step("F1", "vent", hours=2)
    outside = Outside("edge", "4", "mm", "trim")
    measure_again("F1", read=outside, minutes=10, said=builders.said(3))
    with pytest.raises(Refused) as refused:
        log_step("F1", step="trim", said=builders.said(3.1))
    assert refused.value.code == "waits"
    log_step("F1", step="trim", said=builders.said(3.1, done=True))
    assert Flag.objects.filter(code="waits").exists()


def test_a_mould_that_was_closed_once_more_is_measured_anew_and_waits_for_nothing():
    front, at = builders.a_mould_to_fill("F2"), builders.moment(0.6)
    measure_again("F2", read=Outside("leak-rate", "0.9", "mbar", "leak-test"), minutes=10, said=builders.said(0.5))
    assert [wait.name for wait in to_measure_again([front.pk], at).values()] == ["leak-rate"]
    builders.a_step("F2", "mould", hours=0.55, work=Work("MOULD-1", tools=["ML-1"]))
    assert to_measure_again([front.pk], at) == {}
    builders.a_leak_test("F2", hours=0.6)
    assert not Flag.objects.filter(code="waits").exists()


@pytest.mark.parametrize("minutes", [0, -5, 500])
def test_a_wait_of_no_time_is_refused(minutes):
    with pytest.raises(Refused):
        measure_again("F1", read=Outside("bore", "35.1", "mm"), minutes=minutes, said=builders.said(3))


def test_a_tablet_tells_of_a_wait_as_of_any_entry():
    told = entry("wait", hours=4, unit="F1", reading="bore", value="35.1", of="mm", minutes=5)
    assert send(tablet(), told)[0]["outcome"] == "taken"


def test_a_reading_of_a_step_that_cannot_be_read_says_why():
    work = Work(readings=[Read("edge", "", "mm", "no-gauge")])
    record = log_step("F1", step="vent", work=work, said=builders.said(3))
    reading = record.readings.get()
    assert (reading.value, reading.written, reading.reason) == (None, "", "no-gauge")
    with pytest.raises(Refused):
        log_step("F1", step="trim", work=Work(readings=[Read("edge", "", "mm")]), said=builders.said(3.2))
