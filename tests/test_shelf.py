"""What tests begin with is put back as it was told: every row of every table, the book included."""

import pytest
from django.apps import apps
from django.db import transaction

from plant.people.models import Works
from records.items.models import Item
from records.ledger.verifying import verify
from tests import builders, shelf, worlds

pytestmark = pytest.mark.django_db


def stood(tell):
    """Every row after a telling, which is taken back; and whether the book proves clean."""
    with transaction.atomic():
        tell()
        rows = {model._meta.db_table: list(model._base_manager.order_by("pk").values()) for model in apps.get_models()}
        faults = verify().faults
        transaction.set_rollback(True)
    return rows, faults


def a_works_with_a_frame() -> str:
    builders.a_works()
    return builders.a_finished_frame().code


@pytest.mark.parametrize("tell", [builders.a_works, worlds.a_straight_week, a_works_with_a_frame])
def test_it_is_put_back_as_it_was_told(tell):
    told, faults = stood(tell)
    assert (len(told["ledger_entry"]) > 0, faults) == (True, ())
    assert stood(tell) == (told, ())


def test_other_arguments_are_told_anew_and_new_rows_get_new_numbers():
    for holds, due in (({}, False), ({"run-failed": 1}, True), ({}, False)):
        with transaction.atomic():
            builders.a_works(holds=holds)
            rulebook = Works.objects.get().entry
            assert apps.get_model("catalogue", "HoldRule").objects.filter(scope=1).exists() is due
            builders.a_part("NEW", "fibre", "g")
            assert apps.get_model("catalogue", "Part").objects.latest("pk").number == "NEW"
            assert apps.get_model("catalogue", "Part").objects.latest("pk").entry_id > rulebook.pk
            transaction.set_rollback(True)


def test_upon_anything_else_it_is_told_anew():
    for between in (False, True, False):
        with transaction.atomic():
            builders.a_works()
            if between:
                builders.a_part("NEW", "fibre", "g")
            assert builders.a_lot("L1") == Item.objects.get(codes__code="L1")
            assert apps.get_model("catalogue", "Part").objects.filter(number="NEW").exists() is between
            assert verify().faults == ()
            transaction.set_rollback(True)


def test_what_can_not_be_told_from_another_is_not_kept():
    @shelf.kept
    def tell(by):
        by()

    with pytest.raises(TypeError, match="tell can't be kept"):
        tell(builders.a_works)
