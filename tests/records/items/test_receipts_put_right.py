"""A delivery that was booked in wrongly is put right: amount, day and supplier, for its packages and splits too."""

from datetime import date

import pytest
from django.urls import reverse

from plant.quantities import read_quantity
from records.items.actions import (
    BookedRight,
    Delivery,
    accept_lot,
    correct_receipt,
    extend_life,
    receive_lot,
    split_lot,
)
from records.items.keeping import is_expired, last_day_of
from records.items.making import Input
from records.items.models import Receipt
from records.items.queries import balances, item_by_code
from records.items.shelf import stock_rows
from records.ledger.acts import flags_of
from records.release.actions import print_label
from records.release.labels import label_of
from tests import builders
from tests.builders import of, said
from tests.records.floor.told import tablet
from tests.records.items.pages import press, text
from tests.refusing import refuses

pytestmark = pytest.mark.django_db

KG = 10**9
WRONG, RIGHT = date(2026, 3, 31), date(2026, 3, 5)  # the works is told of in the first days of March 2026


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works(holds={})
    delivery = Delivery(
        part="RES-A",
        quantity=read_quantity("20 kg"),
        supplier="Fell Supply",
        supplier_lot="A 19",
        expires_on=WRONG,
        packages=[Input("P1", read_quantity("5 kg")), Input("P2", read_quantity("5 kg"))],
        findings=["damaged"],
    )
    receive_lot("R1", delivery, said=said(-1))
    clock_at(builders.moment(5))


def right(quantity: str = "20 kg", day: date | None = WRONG, words: str = "read once more", **told):
    booked = BookedRight(read_quantity(quantity), "Fell Supply", "A 19", expires_on=day)
    return correct_receipt("R1", booked, words=words, said=said(3, **told))


def test_an_amount_is_put_right_and_both_stay_on_file():
    right("22 kg")
    assert item_by_code("R1").state.remaining == 12 * KG
    assert balances([item_by_code("R1").pk])[item_by_code("R1").pk].received == 22 * KG
    assert list(Receipt.objects.order_by("pk").values_list("written", "version")) == [("20 kg", 1), ("22 kg", 2)]


def test_an_earlier_day_ends_the_lot_its_packages_and_what_was_split_off_them():
    split_lot("P1", [of("S1", "1 kg")], said=said(1, done=True))
    right(day=RIGHT)
    days_after = builders.moment(24 * 8)
    for code in ("R1", "P1", "P2", "S1"):
        lot = item_by_code(code)
        assert last_day_of(lot) == RIGHT, code
        assert is_expired(lot, days_after), code
    assert {row.code: row.last_day for row in stock_rows()} == dict.fromkeys(("R1", "P1", "P2", "S1"), RIGHT)
    assert "last good day 5 Mar 2026" in label_of(print_label("P1", said=said(4))).lines


def test_what_was_cut_off_keeps_its_day_where_nothing_is_put_right():
    assert {row.code: row.last_day for row in stock_rows()} == dict.fromkeys(("R1", "P1", "P2"), WRONG)


def test_a_longer_life_is_seen_by_another_person_than_booked_it_in():
    with refuses("second-person", "Another person looks at its label"):
        right(day=date(2027, 3, 31))
    with refuses("second-person"):
        right(day=None)
    right(day=date(2027, 3, 31), by="review")
    assert last_day_of(item_by_code("P1")) == date(2027, 3, 31)


def test_a_life_made_longer_holds_for_the_packages_too():
    builders.an_allowed_departure("R1")
    extend_life("R1", until=date(2026, 9, 30), certificate="LAB-7", words="gel time", said=said(4))
    later = builders.moment(24 * 60)
    for code in ("R1", "P1"):
        assert not is_expired(item_by_code(code), later), code
    assert {row.last_day for row in stock_rows()} == {date(2026, 9, 30)}


def test_what_cannot_be_right_is_refused():
    for told, code, words in (
        ({"quantity": "9 kg"}, "too-much", "The packages hold 10 kg, and 9 kg came."),
        ({"quantity": "0 kg"}, "not-a-number", "more than nought"),
        ({"quantity": "20 pcs"}, "wrong-kind", "measured in g"),
        ({}, "nothing-changed", "Nothing of this delivery is changed"),
        ({"quantity": "22 kg", "words": " "}, "no-reason", "how it was found"),
    ):
        with refuses(code, words):
            right(**told)


def test_less_than_was_used_is_taken_and_marked():
    accept_lot("R1", words="", said=said(1, done=True))
    split_lot("R1", [of("S1", "9 kg")], said=said(2, done=True))
    told = said(3)
    correct_receipt(
        "R1", BookedRight(read_quantity("15 kg"), "Fell Supply", expires_on=WRONG), words="weighed", said=told
    )
    assert "over-drawn" in flags_of(told.key)


def test_the_page_shows_what_is_on_file_and_who_booked_it_in_stays():
    page = text(tablet("stores").get(reverse("items:receipt_correct", args=["R1"])))
    assert 'value="2026-03-31"' in page
    told = {"amount": "20 kg", "supplier": "Fell Supply", "supplier_lot": "A 91", "expires_on": "2026-03-05"}
    page = text(press("receipt_correct", "R1", role="stores", **told, words="two figures swapped", follow=True))
    assert "Print its label again" in page
    assert "A 91" in page
    assert "two figures swapped" in page
    assert "On arrival a package is damaged." in page
