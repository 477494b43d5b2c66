"""One small works, told once for all tests here that only look at it."""

import pytest
from django.db import transaction

from plant.equipment.queries import gauge_by_code
from plant.people.models import Works
from records.inspection.queries import gauge_finding
from records.items.models import Receipt
from records.ledger.commands import CannotAnswer
from records.ledger.models import Unplaced
from records.ledger.verifying import verify
from records.runs.models import Assessment, Log
from records.scenario import stores
from records.scenario.simulating import simulate
from records.scenario.works import RULER
from records.trace.queries import where_used

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def small_works(django_db_setup, django_db_blocker, tmp_path_factory):
    with django_db_blocker.unblock(), transaction.atomic(), pytest.MonkeyPatch.context() as patch:
        patch.setattr(stores, "RISKED", "450 g")  # so little that even this works uses it up
        yield simulate(4, 1, 7, tmp_path_factory.mktemp("recorders"), lambda _words: None)
        transaction.set_rollback(True)


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


def test_a_second_works_in_one_database_is_refused(small_works, tmp_path):
    with pytest.raises(CannotAnswer, match="nothing in it"):
        simulate(4, 1, 7, tmp_path, lambda _words: None)
    assert Works.objects.count() == 1
