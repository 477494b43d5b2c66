"""The invented works, told anew in each test: troubles, days, the same seed the same works."""

from datetime import date, timedelta

import pytest
from django.db import transaction

from plant.people.models import Works
from records.inspection.models import Measurement
from records.items.models import ItemCode, Link
from records.ledger.commands import CannotAnswer
from records.ledger.models import Entry
from records.ledger.verifying import verify
from records.scenario.simulating import simulate

# What the scenario tells does not hang on the engine: on the plant's own it is told once, a small one.
told_on_one = pytest.mark.sqlite


@told_on_one
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


@told_on_one
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
@told_on_one
@pytest.mark.django_db
def test_the_same_three_numbers_make_the_same_works(tmp_path):
    assert what_is_made(tmp_path / "one") == what_is_made(tmp_path / "two")
