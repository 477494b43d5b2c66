"""Lists of runs, charts, gauges, people, proposals and queues cost the same for 3 rows and for 30."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from plant.catalogue import specs
from plant.catalogue.actions import propose_change
from plant.equipment.actions import Found, add_equipment, calibrate_gauge
from plant.people.actions import add_person
from records.inspection.actions import Line, record_sheet
from records.items.actions import place_hold
from records.ledger.clock import clock
from records.runs.actions import Pass, record_run
from records.steps.actions import send_out
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


def more(start: int, stop: int) -> None:
    """So many more of everything that these lists show."""
    with clock.at(builders.moment(20)):
        for n in range(start, stop):
            said = builders.said(5 + n / 100)
            builders.a_front(f"F{n}", hours=2, pots=["P1"])
            builders.a_rear(f"G{n}", hours=2, pots=["P1"])
            record_sheet(f"F{n}", [Line("bore", [f"34.9{n % 3}"], "GA-1")], said=said)
            place_hold(f"F{n}", reason="doubt", words="wet", said=builders.said(6))
            record_run(Pass("cure", [f"F{n}", f"G{n}"], builders.moment(2), station="MOULD-1"), said=builders.said(6))
            add_equipment("gauge", f"GA-X{n}", kind="bar", said=builders.said(6))
            calibrate_gauge(f"GA-X{n}", Found("good"), said=builders.said(6))
            add_person(f"p{n}", name=f"Person {n}", roles=["lead"], said=builders.said(6))
            propose_change(specs.PartSpec(f"NEW-{n}", "fibre", "g"), reason="a finer tape", said=builders.said(6))
            send_out([f"G{n}"], to="Painter", said=builders.said(7))


LISTS = [
    ("floor:station", ["MOULD-1"]),
    ("runs:run_list", []),
    ("spc:chart_list", []),
    ("spc:chart", ["OSIER-F", "bore"]),
    ("inspection:gauge_list", []),
    ("steps:today", []),
    ("catalogue:rulebook", []),
    ("staff:person_list", []),
    ("equipment:equipment_list", []),
    ("items:out_and_back", []),
    ("items:lot", ["FB1"]),
]


def cost(client, address: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


def test_lists_of_the_rooms_cost_the_same_with_3_and_with_30_rows():
    builders.a_works()
    builders.a_pot("P1", grams=10_000, hours=2)
    client = tablet()
    addresses = [reverse(name, args=args) for name, args in LISTS]
    with clock.at(builders.moment(20) + timedelta(hours=1)):
        more(0, 3)
        few = {address: cost(client, address) for address in addresses}
        more(3, 30)
        assert {address: cost(client, address) for address in addresses} == few
