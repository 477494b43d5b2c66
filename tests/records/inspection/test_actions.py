"""Measurements: as written, on the limit is inside, corrected by two where it turns a verdict."""

from datetime import date
from uuid import uuid4

import pytest

from plant.catalogue import specs
from plant.equipment.actions import Found, calibrate_gauge
from records.inspection.actions import Line, Right, correct_measurement, record_sheet, withdraw_measurement
from records.inspection.models import Measurement, Reading
from records.inspection.queries import gauge_finding, latest_of
from records.items.actions import scrap
from records.items.models import Evidence
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.ledger.marks import Mark
from records.ledger.models import Entry
from records.ledger.refusals import Conflict
from records.ledger.verifying import verify
from records.steps.actions import send_out
from tests import builders
from tests.builders import moment, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def front(db):
    builders.a_works(holds={})
    return builders.a_front("F1")


def measure(*readings, hours=1.0, gauge="GA-1", unit="F1", told=None):
    told = told or said(hours)
    record_sheet(unit, [Line("bore", list(readings), gauge)], said=told)
    return told.key


def verdict(unit="F1", mark=None):
    return latest_of(item_by_code(unit), "bore", mark).verdict.value


# Sums that binary floating point gets wrong: nominal, tolerance, what lies exactly on the upper limit. The first is of
# a Django pull request (11756, ticket 29823), where SQLite keeps decimals as floating numbers.
@pytest.mark.parametrize(
    ("nominal", "play", "limit"),
    [("34.9", "0.05", "34.95"), ("9.7", "0.1", "9.8"), ("0.7", "0.1", "0.8"), ("120.3", "0.1", "120.4")],
)
def test_on_the_limit_is_inside_and_a_micrometre_beyond_is_not(nominal, play, limit):
    builders.agreed(specs.CharacteristicSpec("bore", "OSIER-F", "mm", nominal=nominal, plus=play, minus=play))
    whole = round(float(limit) * 1000)
    for n, (microns, due) in enumerate([(0, "within"), (1, "outside-high")]):
        measure(f"{(whole + microns) / 1000:.3f}", hours=1 + n)
        assert verdict() == due
    lower = round((float(nominal) - float(play)) * 1000)
    for n, (microns, due) in enumerate([(0, "within"), (-1, "outside-low")]):
        measure(f"{(lower + microns) / 1000:.3f}", hours=3 + n)
        assert verdict() == due


def test_a_value_is_kept_as_written_with_comma_or_point():
    measure(" 34,95 ")
    kept = Measurement.objects.get()
    assert (kept.written, kept.value, kept.unit_text, kept.gauge.code) == ("34,95", 34_950_000, "mm", "GA-1")


def test_another_written_text_is_another_content():
    told = said(1)
    measure("34.9", told=told)
    measure("34.9", told=told)
    with pytest.raises(Conflict):
        measure("34.90", told=told)
    assert Measurement.objects.count() == 1


def test_several_readings_of_one_unit_make_one_value():
    measure("34.90", "34.91", "34.95")
    kept = Measurement.objects.get()
    assert (kept.value, kept.written, Reading.objects.count()) == (34_920_000, "", 3)


def test_what_could_not_be_read_is_told_so():
    measure()
    assert (verdict(), Measurement.objects.get().reason) == ("missing", "not-read")
    assert Evidence.objects.get(what="measure").verdict == "not-shown"


@pytest.mark.parametrize(
    ("unit", "line", "code", "words"),
    [
        ("GHOST", Line("bore", ["34.9"], "GA-1"), "unknown", "GHOST"),
        ("P1", Line("bore", ["34.9"], "GA-1"), "wrong-kind", "P1"),
        ("F1", Line("colour", ["34.9"], "GA-1"), "unknown", "colour"),
        ("F1", Line("length", ["34.9"], "GA-1"), "wrong-kind", "not measured on OSIER-F"),
        ("F1", Line("bore", ["34.9"], "GA-9"), "unknown", "GA-9"),
        ("F1", Line("bore", ["34.9.1"], "GA-1"), "not-a-number", "34.9.1"),
        ("F1", Line("bore", ["about 35"], "GA-1"), "not-a-number", "about 35"),
        ("F1", Line("bore", ["nan"], "GA-1"), "not-a-number", "nan"),
        ("F1", Line("bore", ["1e3"], "GA-1"), "not-a-number", "1e3"),
        ("F1", Line("bore", ["34.9000001"], "GA-1"), "too-fine", "more decimals"),
        ("F1", Line("bore", ["99999999999"], "GA-1"), "too-large", "more than can be true"),
        ("F1", Line("bore", ["9" * 4000], "GA-1"), "too-large", "more than can be true"),
    ],
)
def test_a_reading_that_can_not_be_is_refused_and_the_whole_sheet_with_it(unit, line, code, words):
    with refuses(code, words):
        record_sheet(unit, [Line("bore", ["34.9"], "GA-1"), line] if unit == "F1" else [line], said=said(1))
    assert not Measurement.objects.exists()


def test_an_empty_sheet_is_told_so():
    with refuses("unknown", "empty"):
        record_sheet("F1", [], said=said(1))


def test_a_gauge_past_its_check_flags_and_never_refuses():
    told = measure("34.9", gauge="GA-LATE")
    assert flags_of(told) == ["gauge-overdue"]
    calibrate_gauge("GA-LATE", Found("good", due_on=date(2026, 12, 31)), said=said(2))
    assert flags_of(measure("34.9", hours=3, gauge="GA-LATE")) == []
    assert flags_of(measure("34.9", hours=1.5, gauge="GA-LATE")) == ["gauge-overdue"]


@pytest.mark.parametrize("state", ["scrapped", "not-here"])
def test_what_is_gone_is_not_measured_unless_it_was(state):
    ready = {
        "scrapped": lambda: scrap("F1", words="cracked", said=said(0.5)),
        "not-here": lambda: send_out(["F1"], to="Beck Painters", said=said(0.5, done=True)),
    }
    ready[state]()
    with refuses(state):
        measure("34.9")
    assert flags_of(measure("34.9", told=said(1, done=True))) == [state]
    assert Measurement.objects.count() == 1


def test_a_value_that_could_not_be_read_after_all_stands_no_longer():
    key = measure("35.2")
    correct(key, unread=True)
    newest = Measurement.objects.order_by("-pk").first()
    assert (newest.value, newest.written, newest.reason) == (None, "", "not-read")
    assert verdict() == "missing"
    correct(key, value="34.9", hours=6, second="second")
    newest = Measurement.objects.order_by("-pk").first()
    assert (verdict(), newest.reason) == ("within", "")
    assert verify().faults == ()


def correct(key, hours=5.0, by="everybody", **right):
    correct_measurement(key, Right(**right), words="misread", said=said(hours, by=by))


def test_a_corrected_value_counts_and_the_old_one_stays_readable():
    key = measure("34.9")
    before = Mark(Entry.objects.latest("pk").pk)
    correct(key, value="35,2")
    assert (verdict(), verdict(mark=before)) == ("outside-high", "within")
    assert [m.written for m in Measurement.objects.order_by("pk")] == ["34.9", "35,2"]
    assert verify().faults == ()


def test_from_outside_to_within_takes_a_second_person():
    key = measure("35.2")
    for second in ("", "everybody", "EVERYBODY"):
        with refuses("second-person"):
            correct(key, value="34.9", second=second)
    with refuses("unknown", "nobody"):
        correct(key, value="34.9", second="nobody")
    correct(key, value="34.9", second="second")
    assert (verdict(), Measurement.objects.latest("pk").second.badge) == ("within", "second")


def test_by_way_of_a_value_not_read_it_takes_a_second_person_too():
    key = measure("35.2")
    correct(key, unread=True)
    correct(key, hours=5.1, unread=True, reason="gauge-fault")
    with refuses("second-person"):
        correct(key, hours=5.2, value="34.9")
    correct(key, hours=5.2, value="34.9", second="second")
    with refuses("nothing-changed"):
        correct(key, hours=5.3)
    correct(key, hours=5.4, value="34.91")
    assert verdict() == "within"


@pytest.mark.parametrize(("was", "becomes"), [("35.2", "35.1"), ("34.9", "35.2"), ("34.9", "34.91"), ("35.2", "34.1")])
def test_any_other_correction_takes_one(was, becomes):
    key = measure(was)
    correct(key, value=becomes)
    assert Measurement.objects.latest("pk").second is None


def test_a_gauge_may_be_corrected_alone():
    key = measure("34.9")
    correct(key, gauge="GA-LATE")
    newest = Measurement.objects.latest("pk")
    assert (newest.gauge.code, newest.written) == ("GA-LATE", "34.9")


@pytest.mark.parametrize(
    ("right", "code"),
    [
        ({}, "nothing-changed"),
        ({"value": "x"}, "not-a-number"),
        ({"gauge": "GA-9"}, "unknown"),
        ({"value": "34.9", "characteristic": "length"}, "unknown"),
    ],
)
def test_a_correction_that_can_not_be_is_refused(right, code):
    key = measure("34.9")
    with refuses(code):
        correct(key, **right)


def test_a_sheet_with_several_measures_asks_which_one_is_meant():
    builders.agreed(specs.CharacteristicSpec("width", "OSIER-F", "mm", lower="60", upper="61"))
    record_sheet("F1", [Line("bore", ["34.9"], "GA-1"), Line("width", ["60"], "GA-1")], said=(told := said(1)))
    with refuses("unknown", "Say which one"):
        correct(told.key, value="60.1")
    again = said(5)
    right = Right("60.1", characteristic="width")
    correct_measurement(told.key, right, words="misread", said=again)
    with pytest.raises(Conflict):
        correct_measurement(told.key, Right("60.1", characteristic="bore"), words="misread", said=again)


def test_what_was_taken_back_counts_no_more_and_is_not_taken_back_twice():
    first, second = measure("35.2", hours=1), measure("34.9", hours=2)
    withdraw_measurement(second, words="other front", said=said(3))
    assert verdict() == "outside-high"
    with refuses("unknown", "stands any more"):
        withdraw_measurement(second, words="other front", said=said(4))
    with refuses("unknown"):
        correct(second, value="34.8")
    withdraw_measurement(first, words="other front", said=said(5))
    assert verdict() == "missing"
    with refuses("unknown"):
        withdraw_measurement(uuid4(), words="other front", said=said(4))


def test_a_gauge_found_out_puts_its_readings_since_the_good_check_in_doubt():
    for hours, mm in ((1, "34.90"), (3, "34.94"), (4, "34.90"), (6, "34.94")):
        measure(mm, hours=hours)
    calibrate_gauge("GA-1", Found("good"), said=said(2))
    calibrate_gauge("GA-1", Found("out", error="-0,02", unit="mm"), said=said(5))
    finding = gauge_finding(Measurement.objects.first().gauge)
    assert (finding.since, [m.written for m in finding.measured]) == (moment(2), ["34.94", "34.90"])
    assert [(t.measurement.written, t.true, t.verdict.value) for t in finding.turned] == [
        ("34.94", 34_960_000, "outside-high")
    ]


def test_a_place_at_which_it_is_measured_is_where_the_unit_is():
    record_sheet("F1", [Line("bore", ["34.9"], "GA-1")], station="STORE", said=said(2))
    assert item_by_code("F1").state.place.code == "STORE"
    with refuses("unknown", "ATTIC"):
        record_sheet("F1", [Line("bore", ["34.9"], "GA-1")], station="ATTIC", said=said(3))


def test_what_is_held_is_measured_all_the_same():
    with refuses_or_flags("out-of-order") as both:
        both(lambda s: builders.log_step("F1", step="trim", said=s))
    assert flags_of(measure("34.9", hours=7)) == []
