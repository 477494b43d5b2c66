"""A list costs the same number of queries whether it shows 3 rows or 30."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from plant.quantities import read_quantity
from records.items.actions import place_hold, split_lot
from records.items.making import Input
from records.ledger.clock import clock
from records.quality.actions import note_departure
from tests import worlds

pytestmark = pytest.mark.django_db


def splits(count: int) -> None:
    """So many spools more from one fibre lot, each held and with a departure."""
    with clock.at(worlds.AFTER):
        for n in range(count):
            code = f"SP-X{n + 100 * count}"
            split_lot("FL-0871", into=[Input(code, read_quantity("10 g"))], said=worlds.by())
            place_hold(code, reason="doubt", words="seen", said=worlds.by())
            note_departure(code, defect="material", words="fuzzy", said=worlds.by("marta"))


def cost(client, address: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


LISTS = [("items:stock", []), ("trace:find", []), ("trace:lot_to_frames", ["FL-0871"]), ("trace:unit", ["FL-0871"]), ("quality:bench", [])]


def test_lists_cost_the_same_with_3_and_with_30_rows():
    worlds.a_straight_week()
    client = worlds.signed_in("review")
    addresses = [reverse(name, args=args) for name, args in LISTS]
    splits(3)
    few = {address: cost(client, address) for address in addresses}
    splits(27)
    assert {address: cost(client, address) for address in addresses} == few
