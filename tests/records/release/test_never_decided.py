"""A lot that was used though nobody had decided on it keeps the gate of what holds it shut, its hold lifted or not."""

import pytest
from django.urls import reverse

from plant.catalogue import specs
from plant.quantities import read_quantity
from records.items.actions import (
    Delivery,
    accept_lot,
    lift_hold,
    put_in,
    receive_lot,
    reject_lot,
    release_at_risk,
    split_lot,
)
from records.items.clearing import is_cleared
from records.items.making import Input
from records.items.models import Hold
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.ledger.marks import mark_at
from records.release.actions import release_units, ship
from records.release.gate import gate_of
from records.steps.actions import wind
from records.trace.content import content_of
from tests import builders
from tests.builders import moment, of, said
from tests.records.floor.told import tablet
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


def a_frame_of(lot: str, *, part: str = "") -> None:
    """X1 is finished; its tube was wound from this lot, told as done, and the hold that followed is lifted."""
    told = said(-1, done=True)
    wind("T-F1", part="TUBE", spools=[of(lot, part=part)], said=told)
    for _ in Hold.objects.filter(entry__key=told.key):
        lift_hold(told.key, words="looks right", said=said(-0.9))
    builders.a_front("F1", tube="T-F1")
    for step in ("vent", "trim"):
        builders.a_step("F1", step)
    builders.a_finished_frame("X1", front="F1")


def open_lines(mark=None) -> set[tuple[str, str, str]]:
    return {(line.what, line.name, line.verdict) for line in gate_of(item_by_code("X1"), mark) if line.is_open}


def in_quarantine() -> None:
    builders.a_delivery("FB2", "FIB-UD", "5 kg")
    a_frame_of("FB2")


def test_it_is_refused_at_the_gate_until_the_lot_is_accepted(clock_at):
    builders.a_works()
    clock_at(moment(5))
    in_quarantine()
    assert Hold.objects.filter(lift=None).count() == 0
    assert open_lines() == {("lot", "FB2", "undecided")}
    with refuses("gate-open", "X1 can't be released: FB2 was never decided on."):
        release_units(["X1"], said=said(5))
    clock_at(moment(6))
    before = mark_at(moment(5.5))
    accept_lot("FB2", said=said(6))
    assert open_lines() == set()
    assert open_lines(before) == {("lot", "FB2", "undecided")}
    release_units(["X1"], said=said(7))
    ship(["X1"], to="Fell Cycles", said=said(8))
    builders.a_lot("NS1", "INS-BB", "5 pcs")
    with refuses("not-here", "X1 is not here: it is out or shipped."):
        put_in("X1", lot=of("NS1", "1 pcs"), said=said(9))


def test_a_release_that_is_told_as_done_is_marked():
    builders.a_works()
    in_quarantine()
    with refuses_or_flags("gate-open", "never decided on") as both:
        both(lambda told: release_units(["X1"], said=told))


def test_once_somebody_decides_what_was_decided_counts():
    builders.a_works()
    in_quarantine()
    limits = {"limit": read_quantity("1 kg"), "until": moment(90)}
    release_at_risk("FB2", words="certificate late", **limits, said=said(5))
    assert open_lines() == {("lot", "FB2", "at-risk")}
    reject_lot("FB2", words="wet", said=said(6))
    assert open_lines() == {("lot", "FB2", "reject")}


def test_what_came_as_a_package_goes_by_its_delivery():
    builders.a_works()
    packages = [Input("P-1", read_quantity("1 kg"))]
    receive_lot("FB2", Delivery("FIB-UD", read_quantity("5 kg"), "Fell Supply", packages=packages), said=said(-48))
    a_frame_of("P-1")
    assert open_lines() == {("lot", "FB2", "undecided")}


def test_what_was_split_off_it_told_as_done_is_in_quarantine_as_well():
    builders.a_works()
    builders.a_delivery("FB2", "FIB-UD", "5 kg")
    split_lot("FB2", [of("S1", "1 kg")], said=(told := said(0, done=True)))
    lift_hold(told.key, words="looks right", said=said(0.1))
    assert not is_cleared(item_by_code("S1"))
    with refuses("not-cleared", "S1 comes from FB2, which is still in quarantine"):
        split_lot("S1", [of("S2", "1 g")], said=said(1))
    accept_lot("FB2", said=said(2))
    split_lot("S1", [of("S2", "1 g")], said=said(3))


def test_what_was_split_off_a_lot_known_only_by_its_use_is_in_no_quarantine():
    builders.a_works()
    wind("T1", part="TUBE", spools=[of("FB9", part="FIB-UD")], said=said(0))
    split_lot("FB9", [of("S1", "1 kg")], said=said(1))
    split_lot("S1", [of("S2", "1 g")], said=said(2))
    assert is_cleared(item_by_code("S2"))


def test_its_page_and_what_went_in_say_so():
    builders.a_works()
    in_quarantine()
    assert {row.found.code: row.state for row in content_of(item_by_code("X1"))}["FB2"] == "undecided"
    page = tablet().get(reverse("trace:unit", args=["X1"])).content.decode()
    assert "on which nobody has decided.</b> It can’t be released until that lot is accepted." in page
    assert "Never decided on" in tablet().get(reverse("release:unit_release", args=["X1"])).content.decode()


def test_a_works_that_holds_nothing_used_so_does_not_stop_for_it_at_the_gate_either():
    builders.a_works(holds={})
    in_quarantine()
    assert open_lines() == set()


@pytest.mark.parametrize(("scope", "shut"), [(0, set()), (3, {("lot", "FB9", "undecided")})])
def test_a_lot_known_only_by_its_use_counts_where_the_works_holds_for_that(scope, shut):
    builders.a_works(holds=specs.HOLDS_BY_DEFAULT | {"not-booked-in": scope})
    a_frame_of("FB9", part="FIB-UD")
    assert open_lines() == shut
    receive_lot("FB9", Delivery("FIB-UD", read_quantity("5 kg"), "Fell Supply"), said=(told := said(5)))
    assert flags_of(told.key) == []
    assert open_lines() == {("lot", "FB9", "undecided")}
    accept_lot("FB9", said=said(6))
    assert open_lines() == set()
