"""Stores: received, accepted, released at risk, split, put together, scrapped."""

from datetime import date

import pytest

from plant.quantities import read_quantity
from records.items.actions import (
    accept_lot,
    merge_lots,
    mix_pot,
    receive_lot,
    reject_lot,
    release_at_risk,
    scrap,
    split_lot,
    tell_use_late,
)
from records.items.actions.receiving import Delivery
from records.items.clearing import is_cleared
from records.items.models import CertificateValue, Receipt
from records.items.queries import balances, find_item, is_booked_in, item_by_code
from records.ledger.acts import flags_of
from records.steps.actions import Moulding, mould
from records.trace.walking import loops
from tests import builders
from tests.builders import moment, of, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db
G = 10**6


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})


def delivery(part="RES-A", quantity="20 kg", **told):
    return Delivery(part, read_quantity(quantity), "Fell Supply", **told)


def left(code):
    item = item_by_code(code)
    assert item.state.remaining == balances([item.pk])[item.pk].left
    return item.state.remaining // G


def test_a_delivery_stands_in_quarantine_with_its_certificate():
    told = delivery(supplier_lot=" L-77 ", certificate=[("viscosity", "900", "mPas")], station="STORE")
    lot = receive_lot(" r1 ", told, said=said())
    receipt = Receipt.objects.get()
    assert (lot.code, left("R1"), is_cleared(lot), is_booked_in(lot)) == ("R1", 20_000, False, True)
    assert (receipt.supplier_lot, receipt.written) == ("L-77", "20 kg")
    assert CertificateValue.objects.get().written == "900"
    assert lot.state.place.code == "STORE"


@pytest.mark.parametrize(
    ("told", "code", "words"),
    [
        (delivery("GHOST"), "unknown", "GHOST"),
        (delivery("TUBE"), "wrong-kind", "TUBE"),
        (delivery(quantity="20 pcs"), "wrong-kind", "RES-A"),
        (delivery(quantity="0 kg"), "not-a-number", "more than nought"),
        (delivery(quantity="-5 kg"), "not-a-number", "more than nought"),
    ],
)
def test_a_delivery_that_can_not_be_is_refused(told, code, words):
    with refuses(code, words):
        receive_lot("R1", told, said=said())


def test_no_number_is_used_twice_not_even_one_that_is_given_up():
    builders.a_front("F1")
    builders.a_lot("R9")
    with refuses("code-taken", "R9"):
        receive_lot("r9", delivery(), said=said())
    with refuses("code-taken", "F1"):
        receive_lot("F1", delivery(), said=said())


def test_a_code_longer_than_a_label_is_refused():
    builders.a_lot("R1")
    with refuses("too-long", "40 signs"):
        split_lot("R1", [of("R" * 41)], said=said())


def test_without_a_code_the_house_makes_one_that_is_not_taken():
    builders.a_lot("R1")
    first = split_lot("R1", [of(""), of(" ")], said=said())
    assert [lot.code for lot in first] == ["RB-26-000001-5", "RB-26-000002-3"]
    with refuses("code-taken"):
        split_lot("R1", [of("rb-26-000002-3")], said=said())


def test_a_lot_known_only_by_its_use_is_filled_in_by_its_delivery():
    builders.a_pot("P1")
    told = said()
    tell_use_late("P1", lot=of("R7", "3 kg", part="RES-A"), words="forgotten", said=told)
    lot = item_by_code("R7")
    assert (flags_of(told.key), is_booked_in(lot), lot.state.remaining) == (["not-booked-in"], False, -3000 * G)
    with refuses("wrong-kind", "HRD-A"):
        receive_lot("R7", delivery("HRD-A"), said=said())
    with refuses("unknown", "not booked in"):
        accept_lot("R7", said=said())
    assert receive_lot("R7", delivery(), said=said()).pk == lot.pk
    assert left("R7") == 17_000


def test_a_delivery_that_covers_less_than_was_used_is_flagged():
    builders.a_pot("P1")
    tell_use_late("P1", lot=of("R7", "3 kg", part="RES-A"), words="forgotten", said=said())
    told = said()
    receive_lot("R7", delivery(quantity="1 kg"), said=told)
    assert flags_of(told.key) == ["over-drawn"]


def test_a_lot_is_used_from_its_acceptance_on():
    builders.a_delivery("R1")
    with refuses("not-cleared", "R1"):
        split_lot("R1", [of("S1")], said=said(0))
    accept_lot("R1", said=said(1))
    with refuses("not-cleared"):
        split_lot("R1", [of("S1")], said=said(0.9))
    split_lot("R1", [of("S1")], said=said(1))


def test_a_rejected_lot_is_used_no_more_and_told_as_done_it_is_flagged():
    builders.a_lot("R1")
    reject_lot("R1", words="frozen", said=said(1))
    with refuses_or_flags("not-cleared") as both:
        both(lambda told: split_lot("R1", [of("S1")], said=told))


def test_only_received_lots_are_decided_on():
    builders.a_front("F1")
    with refuses("wrong-kind", "F1"):
        accept_lot("F1", said=said())
    with refuses("unknown", "GHOST"):
        accept_lot("GHOST", said=said())
    with refuses("wrong-kind", "Hold it, or scrap it"):
        reject_lot("P1", words="lumps", said=said())


def test_a_lot_at_risk_is_used_up_to_its_amount():
    builders.a_delivery("R1")
    with refuses("no-reason"):
        release_at_risk("R1", words=" ", said=said())
    release_at_risk("R1", words="certificate late", limit=read_quantity("100 g"), until=moment(9), said=said())
    split_lot("R1", [of("S1", "60 g")], said=said(1))
    with refuses("not-cleared"):
        split_lot("R1", [of("S2", "41 g")], said=said(1))
    split_lot("R1", [of("S3", "40 g")], said=said(1))


def test_a_lot_at_risk_is_used_until_its_moment():
    builders.a_delivery("R1")
    with refuses("no-limit", "both"):
        release_at_risk("R1", words="certificate late", until=moment(2), said=said())
    release_at_risk("R1", words="certificate late", limit=read_quantity("1 kg"), until=moment(2), said=said())
    split_lot("R1", [of("S1")], said=said(2))
    with refuses("not-cleared"):
        split_lot("R1", [of("S2")], said=said(2.001))
    accept_lot("R1", said=said(3))
    split_lot("R1", [of("S3")], said=said(4))


def test_a_lot_is_good_on_its_last_day_by_the_calendar_of_the_works():
    builders.a_lot("R1", expires=date(2026, 7, 1))
    # In July the works' clock is an hour ahead: 23:30 there is still the day, 22:30 by UTC.
    split_lot("R1", [of("S1")], said=said(24 * 121 + 14.5))
    with refuses_or_flags("expired") as both:
        both(lambda told: split_lot("R1", [of("S2")], said=said(24 * 121 + 15.5, key=told.key, done=told.done)))


def test_lots_split_off_have_the_expiry_of_their_lot():
    builders.a_lot("R1", expires=date(2026, 3, 2))
    split_lot("R1", [of("S1", "1 kg"), of("S2", "2 kg")], said=said())
    assert (left("R1"), left("S1"), left("S2")) == (17_000, 1000, 2000)
    assert find_item("S1").expires_on == date(2026, 3, 2)
    with refuses("expired", "S1"):
        split_lot("S1", [of("S3")], said=said(24))


def test_what_is_split_off_a_pot_or_put_together_from_pots_lives_no_longer_than_they_do():
    for code, part in (("R1", "RES-A"), ("H1", "HRD-A")):
        builders.a_lot(code, part)
    for pot, hours in (("P1", 0), ("P2", 0.5)):
        mix_pot(pot, mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], said=said(hours))
    split_lot("P1", [of("CUP", "50 g")], said=said(0.6))
    merge_lots("JUG", [of("P2", "50 g"), of("P1", "50 g")], said=said(0.7))
    ends = [find_item(code).good_until for code in ("P1", "CUP", "JUG", "P2")]
    assert ends[0] == ends[1] == ends[2] < ends[3]
    for code in ("CUP", "JUG"):
        with refuses_or_flags("expired") as both:
            both(lambda told, code=code: split_lot(code, [of(f"{code}-{told.done}")], said=told))


@pytest.mark.parametrize(
    ("into", "code"),
    [
        ([], "unknown"),
        ([of("S1"), of("S2", "1 pcs")], "wrong-kind"),
        ([of("S1"), of("S1")], "code-taken"),
        ([of("S1", "300 g"), of("S2", "-100 g")], "not-a-number"),
    ],
)
def test_a_split_that_can_not_be_is_refused(into, code):
    builders.a_lot("R1")
    with refuses(code):
        split_lot("R1", into, said=said())


def test_more_than_the_book_holds_is_taken_and_flagged():
    builders.a_lot("R1", quantity="1 kg")
    split_lot("R1", [of("S1", "1 kg")], said=(exact := said()))
    split_lot("R1", [of("S2", "1 ug")], said=(beyond := said()))
    assert (flags_of(exact.key), flags_of(beyond.key)) == ([], ["over-drawn"])
    assert item_by_code("R1").state.remaining == -1


@pytest.mark.parametrize("way", ["pot", "fill"])
def test_one_lot_scanned_twice_is_counted_together(way):
    """Each of the two amounts alone would be there; together they are not."""
    builders.a_lot("R1", quantity="100 g")
    builders.a_lot("H1", "HRD-A")
    told = said(0.1)
    if way == "pot":
        mix_pot("P1", mix="EPOXY", inputs=[of("R1", "60 g"), of("R1", "60 g"), of("H1", "36 g")], said=told)
    else:
        builders.a_pot("P1", grams=10)
        mould("F1", part="OSIER-F", moulding=Moulding([], [of("P1", "8 g"), of("P1", "8 g")]), said=told)
    assert flags_of(told.key) == ["over-drawn"]


def test_lots_put_together_have_the_earliest_expiry_and_grow():
    builders.a_lot("R1", expires=date(2026, 5, 1))
    builders.a_lot("R2", expires=date(2026, 4, 1))
    merged = merge_lots("M1", [of("R1", "1 kg"), of("R2", "2 kg")], said=said())
    assert (merged.expires_on, left("M1")) == (date(2026, 4, 1), 3000)
    merge_lots("M1", [of("R1", "1 kg")], said=said())
    assert (left("M1"), left("R1")) == (4000, 18_000)


def test_a_loop_made_by_putting_together_is_taken_flagged_and_told():
    builders.a_lot("R1")
    split_lot("R1", [of("S1", "1 kg")], said=said())
    merge_lots("R1", [of("S1", "1 g")], said=(told := said()))
    assert flags_of(told.key) == ["loop"]
    assert loops() == [frozenset({item_by_code("R1").pk, item_by_code("S1").pk})]


@pytest.mark.parametrize(
    ("into", "inputs", "code"),
    [
        ("R1", [of("r1 ")], "itself"),
        ("M1", [], "unknown"),
        ("M1", [of("R1"), of("H1")], "wrong-kind"),
        ("H1", [of("R1")], "wrong-kind"),
        ("M1", [of("F1")], "wrong-kind"),
        ("M1", [of("GHOST")], "unknown"),
        ("M1", [of("GHOST", part="TUBE")], "wrong-kind"),
        ("M1", [of("R1"), of("GHOST", part="HRD-A")], "wrong-kind"),
    ],
)
def test_what_does_not_go_together_is_refused(into, inputs, code):
    builders.a_front("F1")
    with refuses(code):
        merge_lots(into, inputs, said=said())


def test_a_lot_known_by_two_numbers_is_still_itself():
    builders.a_front("F1")
    builders.a_front("F2")
    with refuses("wrong-kind"):
        merge_lots("F2", [of("F1")], said=said())


def test_scrap_takes_an_amount_or_the_rest_of_a_lot_and_a_unit_whole():
    builders.a_lot("R1")
    scrap("R1", words="spilt", quantity=read_quantity("5 kg"), said=said())
    assert left("R1") == 15_000
    scrap("R1", words="hardened", said=said())
    assert left("R1") == 0
    scrap("R1", words="hardened", quantity=read_quantity("1 g"), said=(beyond := said()))
    assert flags_of(beyond.key) == ["over-drawn"]
    builders.a_front("F1")
    scrap("F1", words="cracked", said=said(1))
    assert item_by_code("F1").state.where == "scrapped"
    with refuses("scrapped", "F1"):
        scrap("F1", words="cracked", said=said(2))


@pytest.mark.parametrize(
    ("item", "quantity", "code"),
    [
        ("GHOST", None, "unknown"),
        ("F1", "1 g", "wrong-kind"),
        ("R1", "1 pcs", "wrong-kind"),
        ("R1", "-1 g", "not-a-number"),
    ],
)
def test_a_scrapping_that_can_not_be_is_refused(item, quantity, code):
    builders.a_front("F1")
    with refuses(code):
        scrap(item, words="cracked", quantity=read_quantity(quantity) if quantity else None, said=said())
