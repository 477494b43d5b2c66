"""What a tablet takes along of labels and carriers, so that it can say without a link what the server would."""

import json

import pytest

from plant.catalogue import specs
from records.floor.known_by import MOST_ENDED, known_by, reprinted
from records.items.queries import item_by_code
from records.release.actions import print_label, release_units, ship
from records.steps.actions import put_carrier
from tests import builders
from tests.builders import said
from tests.records.floor.told import tablet
from tests.records.steps.test_carrying import ROUTE, symbol

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(8))


def taken() -> dict:
    return tablet().get("/floor/snapshot/?device=TB-1").json()


def test_each_unit_comes_with_what_it_is_known_by_and_what_it_was(clock_at):
    builders.agreed(specs.RouteSpec("OSIER-F", ROUTE))
    builders.a_front("F1")
    put_carrier("F1", kind="tag", symbol=symbol("F1", 1), said=said(2))
    put_carrier("F1", kind="label", symbol=symbol("F1", 2), said=said(3))
    put_carrier("F1", kind="mark", symbol="F1", said=said(4))
    (unit,) = [unit for unit in taken()["units"] if unit["code"] == "F1"]
    assert unit["carrier"] == ["mark", "F1", 0]
    assert unit["ended"] == [["tag", "F1", 1], ["label", "F1", 2]]
    put_carrier("F1", kind="label", symbol=symbol("F1", 2), reason="came-off", said=said(5))
    (unit,) = [unit for unit in taken()["units"] if unit["code"] == "F1"]
    assert unit["ended"] == [["tag", "F1", 1], ["mark", "F1", 0]]  # what is on it now is no old one


def test_another_units_code_is_no_old_code_of_this_one():
    builders.a_front("F1")
    builders.a_front("F2", tube="T2")
    put_carrier("F1", kind="tag", symbol="F2", said=said(2, done=True))
    put_carrier("F1", kind="tag", symbol="F1", reason="not-its-own", said=said(3))
    (unit,) = [unit for unit in taken()["units"] if unit["code"] == "F1"]
    assert "ended" not in unit


def test_the_newest_label_travels_of_what_had_more_than_one():
    builders.a_front("F1")
    builders.a_lot("R7", "RES-A", "5 kg")
    for code in ("F1", "R7", "R7"):
        print_label(code, reason="torn", said=said(2))
    assert reprinted() == {"R7": 2}
    assert taken()["reprinted"] == {"R7": 2}


def test_what_a_release_lets_go_is_told_until_it_is_shipped():
    frame = builders.a_finished_frame("X1")
    assert "released" not in known_by([frame.pk]).get(frame.pk, {})
    release_units([frame.code], said=said(6))
    assert known_by([frame.pk])[frame.pk]["released"]
    ship([frame.code], to="Dealer", said=said(7))
    assert "released" not in known_by([frame.pk]).get(frame.pk, {})


def test_a_unit_takes_no_more_along_however_often_its_label_was_replaced():
    builders.a_front("F1")
    for n in range(1, 3 * MOST_ENDED):
        put_carrier("F1", kind="label", symbol=symbol("F1", n), reason="worn", said=said(2 + n / 100))
    item = item_by_code("F1")
    told = known_by([item.pk])[item.pk]
    assert [copy for _, _, copy in told["ended"]] == list(range(2 * MOST_ENDED - 1, 3 * MOST_ENDED - 1))
    assert len(json.dumps(told)) < 400
