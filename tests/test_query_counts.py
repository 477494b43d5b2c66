"""A list costs the same number of queries whether it shows 3 rows or 30, and as many as stand in ``query_counts.json``.

``QUERY_COUNTS=write`` writes the file anew; its change is looked at like any other.
"""

import json
import os
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from plant.quantities import read_quantity
from records.items.actions import lift_hold, place_hold, split_lot
from records.items.making import Input
from records.ledger.clock import clock
from records.quality.actions import note_departure
from records.release.actions import release_units, ship
from tests import worlds

pytestmark = pytest.mark.django_db
COUNTS = Path(__file__).with_name("query_counts.json")


def splits(count: int) -> None:
    """So many spools more from one fibre lot, each held and with a departure."""
    with clock.at(worlds.AFTER):
        for n in range(count):
            code = f"SP-X{n + 100 * count}"
            split_lot("FL-0871", into=[Input(code, read_quantity("10 g"))], said=worlds.by())
            place_hold(code, reason="doubt", words="seen", said=worlds.by())
            again = place_hold(code, reason="doubt", words="again", said=worlds.by())
            lift_hold(again.entry.key, words="fine", said=worlds.by())
            note_departure(code, defect="material", words="fuzzy", said=worlds.by("marta"))


def cost(client, address: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


LISTS = [
    ("items:stock", []),
    ("trace:find", []),
    ("trace:lot_to_frames", ["FL-0871"]),
    ("trace:unit", ["FL-0871"]),
    ("quality:bench", []),
    ("quality:past", []),
    ("release:going", []),
    ("release:gone", []),
    ("labels:label_list", []),
]


def test_lists_cost_the_same_with_3_and_with_30_rows_and_what_stands_on_file():
    worlds.a_straight_week()
    client = worlds.signed_in("review")
    addresses = {name: reverse(name, args=args) for name, args in LISTS}
    splits(3)
    few = {name: cost(client, address) for name, address in addresses.items()}
    splits(27)
    assert {name: cost(client, address) for name, address in addresses.items()} == few
    if os.environ.get("QUERY_COUNTS") == "write":
        COUNTS.write_text(json.dumps(few, indent=2, sort_keys=True) + "\n")
    assert json.loads(COUNTS.read_text()) == few


def test_what_was_shipped_costs_the_same_for_one_row_and_for_two():
    worlds.a_straight_week()
    client, gone = worlds.signed_in("review"), reverse("release:gone")
    with clock.at(worlds.AFTER):
        release_units([worlds.HERE], said=worlds.by())
        ship([worlds.HERE], to="Dealer Larkmere", said=worlds.by())
    one, two = (f"{gone}?code={code}" for code in (worlds.SHIPPED, "TW-26-00420"))
    assert [client.get(address).context["list"].count for address in (one, two)] == [1, 2]
    assert cost(client, one) == cost(client, two)
