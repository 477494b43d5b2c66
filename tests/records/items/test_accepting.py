"""What stands against accepting a lot, twice the same decision, and what goes by the decision on a delivery."""

import pytest

from plant.catalogue import specs
from plant.quantities import read_quantity
from records.items.actions import (
    Delivery,
    accept_lot,
    merge_lots,
    read_certificate,
    receive_lot,
    reject_lot,
    release_at_risk,
    scrap,
    send_back,
    split_lot,
)
from records.items.clearing import against_accepting, at_risk, is_cleared, taken_of
from records.items.making import Input
from records.items.models import LotDecision, Receipt
from records.items.queries import balances, item_by_code
from records.items.shelf import stock_rows
from records.ledger.acts import flags_of
from tests import builders
from tests.builders import moment, of, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db
KG = 10**9
VISCOSITY = specs.CertificateSpec("viscosity", "mPa s", "250", "400")


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})
    builders.agreed(specs.PartSpec("RES-C", "resin", "g", prefix="RB", certificate=[VISCOSITY]))


def came(code="C1", part="RES-C", quantity="20 kg", **told):
    return receive_lot(code, Delivery(part, read_quantity(quantity), "Fell Supply", **told), said=said(-48))


@pytest.mark.parametrize(
    ("certificate", "words"),
    [
        ([("viscosity", "400,1", "mPa s")], "Viscosity is 400,1 mPa s; asked is 250 to 400 mPa s."),
        ([("viscosity", "249.9", "mPas")], "249.9"),
        ([], "Not on its certificate: viscosity."),
        ([("viscosity", "0.31", "Pa s")], "can’t be compared with 250 to 400 mPa s"),
        ([("viscosity", "310", "MPa s")], "can’t be compared"),
        ([("viscosity", "thick", "mPa s")], "can’t be compared"),
    ],
)
def test_a_lot_whose_certificate_does_not_say_what_is_asked_is_not_accepted(certificate, words):
    came(certificate=certificate)
    with refuses_or_flags("not-acceptable", words) as both:
        both(lambda told: accept_lot("C1", said=told))


@pytest.mark.parametrize("value", ["250", "310", "400", "400,000000"])
def test_on_a_limit_of_the_certificate_is_inside(value):
    came(certificate=[("Viscosity", value, "mPa s"), ("colour", "amber", "")])
    assert accept_lot("C1", said=said()).decision == "accept"


def test_a_certificate_that_follows_puts_right_the_one_before():
    came(certificate=[("viscosity", "4100", "mPa s")])
    with refuses("not-acceptable"):
        accept_lot("C1", said=said())
    with refuses("nothing"):
        read_certificate("C1", [], said=said())
    with refuses("unknown"):
        read_certificate("GHOST", [("viscosity", "410", "mPa s")], said=said())
    read_certificate("C1", [("viscosity", "310", "mPa s")], said=said())
    accept_lot("C1", said=said())


def test_a_lot_outside_is_accepted_once_two_people_allow_the_departure():
    came(certificate=[("viscosity", "410", "mPa s")])
    builders.an_allowed_departure("C1")
    assert against_accepting(item_by_code("C1")) == []
    accept_lot("C1", said=said())


def test_a_departure_allows_what_was_known_when_two_people_signed_and_nothing_that_came_after():
    came(certificate=[("viscosity", "410", "mPa s")])
    builders.an_allowed_departure("C1")
    read_certificate("C1", [("viscosity", "4100", "mPa s")], said=said())
    with refuses("not-acceptable", "Viscosity is 4100 mPa s"):
        accept_lot("C1", said=said())
    builders.an_allowed_departure("C1")
    accept_lot("C1", said=said())


def test_what_a_certificate_does_not_say_is_named_once():
    came(certificate=[])
    assert against_accepting(item_by_code("C1")) == ["Not on its certificate: viscosity."]


def test_of_decisions_the_one_that_was_made_last_counts_whenever_it_was_told():
    builders.a_delivery("R1")
    accept_lot("R1", said=said(5))
    reject_lot("R1", words="lumps", said=said(3, done=True))
    assert is_cleared(item_by_code("R1"))
    assert not is_cleared(item_by_code("R1"), at=moment(4))


def test_a_lot_that_came_damaged_waits_in_quarantine_with_the_reason():
    lot = came("R1", "RES-A", findings=["damaged", "warm"], words="one drum dented", temperature=read_quantity("31 °C"))
    assert not is_cleared(lot)
    assert Receipt.objects.get().temperature_mk == 304_150
    with refuses("not-acceptable", "the cold chain is broken"):
        accept_lot("R1", said=said())
    release_at_risk("R1", words="gel time tested", limit=read_quantity("1 kg"), until=moment(24), said=said())
    split_lot("R1", [of("S1", "1 kg")], said=said())
    with refuses("unknown", "from the list"):
        came("R2", "RES-A", findings=["haunted"])


def test_the_same_decision_twice_under_another_key_is_refused_and_told_as_done_it_is_flagged():
    builders.a_delivery("R1")
    first = accept_lot("R1", said=(told := said()))
    assert accept_lot("R1", said=told).pk == first.pk
    with refuses_or_flags("decided-before", "accepted already: Everybody did so") as both:
        both(lambda told: accept_lot("R1", said=told))
    reject_lot("R1", words="lumps", said=said(1))
    with refuses("decided-before", "rejected already"):
        reject_lot("R1", words="lumps", said=said(2))
    accept_lot("R1", words="sieved and tested", said=said(3))


def test_a_decision_that_was_not_looked_at_is_never_put_aside():
    builders.a_delivery("R1")
    first = reject_lot("R1", words="lumps", seen=0, said=said())
    limits = {"words": "the gate waits", "limit": read_quantity("1 kg"), "until": moment(24)}
    for decide in (
        lambda: accept_lot("R1", seen=0, said=said(1)),
        lambda: release_at_risk("R1", **limits, seen=0, said=said(1)),
    ):
        with refuses("decided-meanwhile", "Everybody has decided on R1 since this page was opened: it is rejected"):
            decide()
    accept_lot("R1", seen=first.pk, said=said(2))


def test_a_limit_of_a_release_at_risk_is_in_the_measure_of_its_part():
    builders.a_delivery("R1")
    with refuses("wrong-kind", "RES-A is measured in g"):
        release_at_risk("R1", words="soon", limit=read_quantity("6 pcs"), until=moment(24), said=said())


def test_a_release_at_risk_until_a_time_that_has_passed_names_the_time():
    builders.a_delivery("R1")
    with refuses("no-limit", "has passed. Write until when R1 may be used."):
        release_at_risk("R1", words="soon", limit=read_quantity("1 kg"), until=moment(-1), said=said())


def test_what_was_split_off_a_lot_goes_by_the_decision_on_it():
    builders.a_lot("R1")
    split_lot("R1", [of("S1", "2 kg")], said=said(0))
    split_lot("S1", [of("S2", "1 kg")], said=said(0.1))
    reject_lot("R1", words="recalled by its maker", said=said(1))
    with refuses("not-cleared", "S2 comes from R1, which is rejected. Put it aside"):
        split_lot("S2", [of("S3", "1 g")], said=said(2))
    assert {row.code: row.state for row in stock_rows()} == {"R1": "reject", "S1": "reject", "S2": "reject"}


def test_what_a_pot_was_put_together_with_is_asked_about_as_well():
    builders.a_pot("P1", hours=0)
    builders.a_lot("PM", "MIX-A", "1 kg")
    merge_lots("M1", [of("P1", "100 g"), of("PM", "100 g")], said=said(0.1))
    split_lot("M1", [of("S1", "10 g")], said=said(0.2))
    reject_lot("PM", words="recalled by its maker", said=said(0.3))
    with refuses("not-cleared", "S1 comes from PM, which is rejected"):
        split_lot("S1", [of("S2", "1 g")], said=said(0.4))
    split_lot("P1", [of("S3", "1 g")], said=said(0.4))


def test_what_was_split_off_a_lot_in_quarantine_told_as_done_needs_no_decision_where_the_works_holds_nothing_for_it():
    builders.a_delivery("R1")
    split_lot("R1", [of("S1", "2 kg")], said=said(0, done=True))
    split_lot("S1", [of("S2", "1 kg")], said=said(1))
    assert is_cleared(item_by_code("S2"))
    reject_lot("R1", words="lumps", said=said(2))
    with refuses("not-cleared", "S2 comes from R1, which is rejected"):
        split_lot("S2", [of("S3", "1 g")], said=said(3))


def test_each_package_has_a_label_of_its_own_and_goes_by_the_decision_on_its_delivery():
    packages = [Input("P-1", read_quantity("5 kg")), Input("", read_quantity("5 kg"))]
    came("R1", "RES-A", packages=packages, delivery_note="DN 77", station="STORE")
    rows = {row.code: (row.left // KG, row.state, row.place) for row in stock_rows()}
    assert rows == {
        "R1": (10, "quarantine", "STORE"),
        "P-1": (5, "quarantine", "STORE"),
        "RB-26-000001-5": (5, "quarantine", "STORE"),
    }
    with refuses("not-cleared", "P-1 comes from R1, which is still in quarantine"):
        split_lot("P-1", [of("S1")], said=said())
    accept_lot("R1", said=said())
    split_lot("P-1", [of("S1")], said=said())
    assert taken_of(item_by_code("R1")) == 10_000_000


@pytest.mark.parametrize(
    ("amounts", "code"), [(["15 kg", "6 kg"], "too-much"), (["0 kg"], "not-a-number"), (["1 pcs"], "not-a-number")]
)
def test_packages_that_can_not_be_are_refused_whole(amounts, code):
    with refuses(code):
        came("R1", "RES-A", packages=[Input("", read_quantity(amount)) for amount in amounts])
    assert stock_rows() == []


def test_packages_share_the_limit_of_a_release_at_risk():
    came("R1", "RES-A", packages=[Input(code, read_quantity("5 kg")) for code in ("P-1", "P-2")])
    release_at_risk("R1", words="certificate late", limit=read_quantity("2 kg"), until=moment(24), said=said())
    split_lot("P-1", [of("S1", "1.5 kg")], said=said(1))
    with refuses_or_flags(
        "not-cleared", "P-2 comes from R1, released at risk for 2 kg, of which 500 g is left"
    ) as both:
        both(lambda told: split_lot("P-2", [of(f"S-{told.done}", "600 g")], said=said(1, key=told.key, done=told.done)))


def test_what_was_split_off_a_lot_at_risk_is_used_no_longer_than_the_lot():
    builders.a_delivery("R1")
    release_at_risk("R1", words="certificate late", limit=read_quantity("2 kg"), until=moment(24), said=said())
    split_lot("R1", [of("S1", "2 kg")], said=said(1))
    split_lot("S1", [of("S2", "1 kg")], said=said(24))
    with refuses_or_flags("not-cleared", "until 3 Mar 2026 08:00") as both:
        both(lambda told: split_lot("S1", [of(f"S-{told.done}")], said=said(24.1, key=told.key, done=told.done)))
    assert [one.item.code for one in at_risk()] == ["R1"]
    accept_lot("R1", said=said(25))
    split_lot("S1", [of("S4")], said=said(26))
    assert at_risk() == []


def test_a_lot_at_risk_may_be_released_again_within_other_limits():
    builders.a_delivery("R1")
    for kilos in ("1 kg", "3 kg"):
        release_at_risk("R1", words="late", limit=read_quantity(kilos), until=moment(24), said=said())
    split_lot("R1", [of("S1", "3 kg")], said=said(1))
    assert LotDecision.objects.count() == 2


@pytest.mark.parametrize("limits", [{}, {"until": moment(9)}, {"limit": "1 kg"}, {"limit": "0 kg", "until": moment(9)}])
def test_a_release_at_risk_names_amount_and_time(limits):
    builders.a_delivery("R1")
    told = limits | ({"limit": read_quantity(limits["limit"])} if "limit" in limits else {})
    with refuses("no-limit", "both"):
        release_at_risk("R1", words="late", said=said(), **told)


def test_what_goes_back_to_its_supplier_is_neither_used_nor_written_off():
    builders.a_delivery("R1")
    reject_lot("R1", words="frozen", said=said(0))
    with refuses("no-reason"):
        send_back("R1", words=" ", said=said(1))
    send_back("R1", words="claim 12", quantity=read_quantity("15 kg"), said=said(1))
    scrap("R1", words="sample", quantity=read_quantity("1 kg"), said=said(1))
    found = balances([item_by_code("R1").pk])[item_by_code("R1").pk]
    assert (found.back // KG, found.waste // KG, found.left // KG) == (15, 1, 4)
    send_back("R1", words="the rest", said=(told := said(2)))
    assert (item_by_code("R1").state.remaining, flags_of(told.key)) == (0, [])
    builders.a_pot("P1", resin="R9")
    with refuses("wrong-kind"):
        send_back("P1", words="wrong", said=said(2))
