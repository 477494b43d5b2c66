"""The invented works, small: made through the actions, books that agree, the same seed the same works."""

from datetime import date, timedelta

import pytest
from django.db import transaction

from plant.equipment.queries import gauge_by_code
from plant.people.models import Works
from records.inspection.models import Measurement
from records.inspection.queries import gauge_finding
from records.items.models import ItemCode, Link, Receipt
from records.ledger.commands import CannotAnswer
from records.ledger.models import Entry, Unplaced
from records.ledger.verifying import verify
from records.runs.models import Assessment, Log
from records.scenario import stores
from records.scenario.simulating import simulate
from records.scenario.works import RULER
from records.trace.queries import where_used


@pytest.fixture
def small_works(db, tmp_path, monkeypatch):
    monkeypatch.setattr(stores, "RISKED", "450 g")  # so little that even this works uses it up
    return simulate(4, 1, 7, tmp_path, lambda _words: None)


def test_a_small_works_is_made_and_its_books_agree(small_works):
    assert (small_works["frames"], small_works["sealed"]) == (4, True)
    assert verify().faults == ()


def test_recorder_files_on_disk_are_read_back(small_works):
    logs = Log.objects.all()
    assert logs.count() == small_works["files"] > 8
    assert all(log.rows > 100 and log.rows_set_aside == 0 for log in logs)
    assert Assessment.objects.count() == small_works["files"]


def test_what_is_planted_can_be_found(small_works):
    assert gauge_finding(gauge_by_code(RULER)).found_out is not None
    assert Unplaced.objects.filter(code="conflict").count() == 1
    assert Receipt.objects.filter(item__revision__part__number="HRD-A").count() == 2
    assert where_used("RB-26-000001-5").frames


@pytest.mark.sqlite  # what the scenario tells does not hang on the engine
@pytest.mark.django_db
def test_each_trouble_happens_once_the_works_has_the_units_for_it(tmp_path):
    simulate(24, 2, 7, tmp_path, lambda _words: None)
    kinds = set(Entry.objects.values_list("kind", flat=True))
    assert kinds >= {
        "labels swapped",
        "swap confirmed",
        "unit taken out",
        "unit put in",
        "renumbered",
        "link corrected",
    }


def test_a_second_works_in_one_database_is_refused(small_works, tmp_path):
    with pytest.raises(CannotAnswer, match="nothing in it"):
        simulate(4, 1, 7, tmp_path, lambda _words: None)
    assert Works.objects.count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize("first_day", [date(2024, 12, 30), date(2025, 3, 24)], ids=["over New Year", "clocks forward"])
def test_a_works_may_begin_on_any_monday(tmp_path, first_day):
    simulate(2, 1, 7, tmp_path, lambda _words: None, first_day)
    assert verify().faults == ()
    days = [entry.made_at.date() - first_day for entry in Entry.objects.all()]
    assert min(days) == timedelta(days=-2)  # opened on Sunday at midnight, which is Saturday in UTC
    assert timedelta(days=4) <= max(days) < timedelta(days=28)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("first_day", "words"),
    [(date(2026, 3, 3), "begins on a Monday; 2026-03-03 is a Tuesday"), (date(2026, 3, 2), "not over yet")],
    ids=["tuesday", "ahead"],
)
def test_a_works_that_would_not_be_over_is_refused(tmp_path, clock_at, first_day, words):
    clock_at("2026-03-10T08:00:00+01:00")
    with pytest.raises(CannotAnswer, match=words):
        simulate(2, 2, 7, tmp_path, lambda _words: None, first_day)
    assert not Works.objects.exists()


def what_is_made(folder):
    """Codes, amounts, readings and files of a works that is rolled back again."""
    with transaction.atomic():
        simulate(3, 1, 5, folder, lambda _words: None)
        codes = list(ItemCode.objects.order_by("pk").values_list("code", flat=True))
        links = list(Link.objects.order_by("pk").values_list("amount", "at", "share_ppb", "reason"))
        measured = list(Measurement.objects.order_by("pk").values_list("written", "value", "at"))
        transaction.set_rollback(True)
    return codes, links, measured, sorted((path.name, path.read_bytes()) for path in folder.iterdir())


@pytest.mark.long
@pytest.mark.django_db
def test_the_same_three_numbers_make_the_same_works(tmp_path):
    assert what_is_made(tmp_path / "one") == what_is_made(tmp_path / "two")
