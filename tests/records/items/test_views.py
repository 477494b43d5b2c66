"""Pages of the stores: a delivery goes into quarantine and is accepted; what is wrong is told in words."""

import pytest
from django.urls import reverse

from records.items.clearing import is_cleared
from records.items.queries import find_item
from records.ledger.models import Entry
from tests import worlds

pytestmark = pytest.mark.usefixtures("straight_week")
DELIVERY = {"part": "FIB-24", "amount": "2 kg", "supplier": "Fellgate Supply", "code": "FL-9999"}


@pytest.fixture
def stores(db):
    worlds.a_straight_week()
    return worlds.signed_in("stores")


def test_a_delivery_goes_into_quarantine(stores):
    worlds.press(stores, reverse("items:lot_receive"), **DELIVERY)
    lot = find_item("FL-9999")
    assert (lot.state.remaining, is_cleared(lot)) == (2_000_000_000, False)
    assert b"Quarantine" in stores.get(reverse("items:stock")).content


def test_a_second_press_books_nothing_twice(stores):
    page = stores.get(reverse("items:lot_receive"))
    hidden = {name: page.context["form"].initial[name] for name in ("key", "drawn_at")}
    before = Entry.objects.count()
    for _ in range(2):
        stores.post(reverse("items:lot_receive"), {**hidden, **DELIVERY})
    assert Entry.objects.count() == before + 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"amount": "two kilos"}, "is no amount. Write figures and the unit: 20 kg."),
        ({"amount": "2 mm"}, "is received in g, not as 2 mm"),
        ({"code": "FL-0871"}, "no number is used twice"),
    ],
)
def test_what_is_wrong_is_told_in_words(stores, change, words):
    answer = worlds.press(stores, reverse("items:lot_receive"), **(DELIVERY | change))
    assert words in answer.content.decode()
    assert find_item("FL-9999") is None


def test_an_accepted_lot_may_be_used(stores):
    worlds.press(stores, reverse("items:lot_receive"), **DELIVERY)
    worlds.press(stores, reverse("items:lot_decide", args=["FL-9999"]), choice="accept")
    assert is_cleared(find_item("FL-9999"))


def test_a_lot_that_is_not_on_file_is_not_found(stores):
    assert stores.get(reverse("items:lot_decide", args=["FL-0000"])).status_code == 404
