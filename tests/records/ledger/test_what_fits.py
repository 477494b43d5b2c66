"""Texts that a column can't hold are refused in words on both engines, and nothing of the act is kept."""

from dataclasses import replace

import pytest

from plant.quantities import read_quantity
from records.items.actions import place_hold, receive_lot
from records.items.actions.receiving import Delivery
from records.items.models import Item
from records.ledger.models import Entry, PrivateWords, Unplaced
from records.ledger.refusals import Refused
from tests import builders
from tests.builders import said

pytestmark = pytest.mark.django_db
FROM_FELL = Delivery("RES-A", read_quantity("20 kg"), "Fell Supply")


@pytest.mark.parametrize(
    ("supplier", "code", "words"),
    [
        ("Fell Supply of the lower mill " * 3, "too-long", "Supplier has 89 signs; 80 are kept. Write it shorter."),
        ("Fell\0Supply", "unreadable", "Supplier holds a sign that is none. Write it again."),
    ],
)
def test_a_text_that_does_not_fit_is_refused_and_kept_for_review_where_it_happened(supplier, code, words):
    builders.a_works()
    before = Entry.objects.count()
    with pytest.raises(Refused) as caught:
        receive_lot("R1", replace(FROM_FELL, supplier=supplier), said=said())
    assert (caught.value.code, str(caught.value)) == (code, words)
    assert (Item.objects.filter(codes__code="R1").exists(), Entry.objects.count()) == (False, before)
    with pytest.raises(Refused):
        receive_lot("R1", replace(FROM_FELL, supplier=supplier), said=said(done=True))
    assert Unplaced.objects.get().code == code


def test_a_zero_byte_in_free_words_is_shown_as_one():
    builders.a_works()
    builders.a_lot()
    place_hold("R1", reason="leak", words="wet\0label", said=said())
    assert PrivateWords.objects.filter(text="wet\ufffdlabel").exists()
