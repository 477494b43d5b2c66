"""Rework: something comes out and stays readable, something goes in; a coupon is cut."""

import pytest

from records.items.actions import cut_coupon, place_hold, put_in, scrap, take_out, tell_use_late
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.ledger.verifying import verify
from records.trace.queries import Asked, made_from, where_used
from tests import builders
from tests.builders import of, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def frame(db):
    builders.a_works(holds={})
    return builders.a_frame("X1")


def found(answer):
    return {one.code: (one.sure, one.ended) for one in answer.listed}


def out(item="F-X1", hours=5):
    return take_out("X1", item=item, words="cracked", station="STORE", said=said(hours))


def test_what_was_taken_out_is_free_at_the_station_and_its_link_ended():
    out()
    state = item_by_code("F-X1").state
    assert (state.where, state.place.code, state.inside) == ("here", "STORE", None)
    assert "X1" not in found(where_used("F-X1"))
    assert found(where_used("F-X1", Asked(ended=True)))["X1"] == (None, True)
    with refuses("not-in-it", "F-X1"):
        out(hours=6)
    assert verify().faults == ()


def test_material_taken_out_is_not_given_back():
    before = item_by_code("G1").state.remaining
    out("G1")
    assert item_by_code("G1").state.remaining == before
    assert found(made_from("X1", Asked(ended=True)))["G1"] == (None, True)


def test_another_front_goes_in():
    out()
    builders.a_finished_front("F2")
    put_in("X1", item="F2", said=said(6))
    assert item_by_code("F2").state.inside.code == "X1"
    assert found(made_from("X1"))["F2"] == ("confirmed", False)


def test_what_was_taken_out_may_go_in_again():
    out()
    put_in("X1", item="F-X1", said=said(6))
    assert found(where_used("F-X1"))["X1"] == ("confirmed", False)
    assert verify().faults == ()


def test_an_amount_of_a_lot_goes_in():
    builders.some_glue("G2", hours=5.5)
    put_in("X1", lot=of("G2", "2 g"), said=said(6))
    assert found(made_from("X1"))["G2"] == ("confirmed", False)


@pytest.mark.parametrize(
    ("unit", "item", "code"),
    [
        ("GHOST", "F2", "unknown"),
        ("X1", "GHOST", "unknown"),
        ("X1", "X1", "itself"),
        ("X1", "T-F2", "wrong-kind"),
        ("F2", "B-X1", "wrong-kind"),
        ("T-F2", "F2", "wrong-kind"),
        ("G1", "F2", "wrong-kind"),
    ],
)
def test_what_does_not_fit_is_refused(unit, item, code):
    builders.a_front("F2")
    with refuses(code):
        put_in(unit, item=item, said=said(6))


def test_what_is_in_another_unit_or_scrapped_is_not_put_in():
    builders.a_frame("X2")
    with refuses_or_flags("already-used") as both:
        both(lambda s: put_in("X1", item="F-X2", said=s))
    builders.a_front("F3")
    scrap("F3", words="cracked", said=said(4))
    with refuses_or_flags("scrapped") as both:
        both(lambda s: put_in("X1", item="F3", said=s))


def test_the_unit_stands_where_something_was_put_in():
    builders.a_finished_front("F2")
    out()
    put_in("X1", item="F2", station=" trim-1", said=(told := said(6)))
    assert item_by_code("X1").state.place.code == "TRIM-1"
    put_in("X1", item="f2", station="TRIM-1 ", said=told)
    builders.some_glue("G2", hours=5.5)
    put_in("X1", lot=of("G2", "2 g"), station="STORE", said=said(6.1))
    assert item_by_code("X1").state.place.code == "STORE"
    assert verify().faults == ()


def test_what_is_held_is_not_put_in_though_a_hold_on_the_unit_does_not_stop_it():
    builders.a_finished_front("F2")
    for code in ("X1", "F2"):
        place_hold(code, reason="dry-patch", said=said(4))
    with refuses_or_flags("held") as both:
        both(lambda s: put_in("X1", item="F2", said=s))


@pytest.mark.parametrize("lot", ["R1", "H1"])
def test_raw_components_go_into_pots_and_into_no_unit(lot):
    for tell in (
        lambda s: put_in("X1", lot=of(lot, "1 g"), said=s),
        lambda s: tell_use_late("X1", lot=of(lot, "1 g"), words="forgotten", said=s),
    ):
        with refuses("wrong-kind", lot):
            tell(said(6, done=True))


def test_an_expired_pot_does_not_go_in_unless_it_did():
    with refuses_or_flags("expired") as both:
        both(lambda s: put_in("X1", lot=of("P1", "1 g"), said=s))


@pytest.mark.parametrize(("unit", "item"), [("GHOST", "F-X1"), ("X1", "GHOST")])
def test_taking_out_asks_for_both_codes(unit, item):
    with refuses("unknown", "GHOST"):
        take_out(unit, item=item, words="cracked", said=said(5))


def test_a_coupon_is_an_item_of_its_own_made_from_the_unit():
    coupon = cut_coupon("CU1", unit="F-X1", part="CPN", station="TRIM-1", said=said(5))
    assert (coupon.state.remaining, coupon.state.place.code) == (1, "TRIM-1")
    assert found(where_used("R1"))["CU1"] == ("confirmed", False)
    assert flags_of(said().key) == []
    assert verify().faults == ()


@pytest.mark.parametrize(
    ("coupon", "unit", "part", "code"),
    [("CU1", "GHOST", "CPN", "unknown"), ("CU1", "X1", "TUBE", "wrong-kind"), ("R1", "X1", "CPN", "code-taken"),
     ("CU1", "R1", "CPN", "wrong-kind"), ("CU1", "X1", "GHOST", "unknown")],
)  # fmt: skip
def test_a_coupon_that_can_not_be_is_refused(coupon, unit, part, code):
    with refuses(code):
        cut_coupon(coupon, unit=unit, part=part, said=said(5))
