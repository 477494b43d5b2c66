"""Counters and locks are rebuilt from the records, not from themselves."""

import pytest

from plant.catalogue.models import Tank
from records.items.actions import charge_tank
from records.items.models import CodeCounter, TankLock
from records.ledger.verifying.states import state_faults
from records.quality.actions import note_departure
from tests import builders as works

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> None:
    """Codes made by the house in several rooms, one told that runs ahead of its counter, and a tank with a log."""
    works.a_works()
    works.a_lot("R1")
    works.a_delivery("RB-26-000009-9")
    for _ in range(3):
        works.a_delivery("", quantity="5 kg")
    charge_tank("TK-1", lot=works.of("R1", "5 kg"), said=works.said())
    note_departure("R1", defect="other", words="dented can", said=works.said())


def told() -> list[tuple]:
    return [(f.table, f.row, f.column) for f in state_faults(records_are_good=True)]


def test_counters_and_locks_are_what_the_records_give_and_others_are_named(house):
    assert dict(CodeCounter.objects.values_list("series", "number")) == {"RB-26": 3, "NC-26": 1}
    assert told() == []
    CodeCounter.objects.filter(series="RB-26").update(number=9)
    CodeCounter.objects.filter(series="NC-26").delete()
    TankLock.objects.all().delete()
    assert told() == [
        ("items_codecounter", "RB-26", "number"),
        ("items_codecounter", "NC-26", None),
        ("items_tanklock", Tank.objects.get(code="TK-1").pk, None),
    ]
