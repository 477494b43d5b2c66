"""Words erased, unplaced entries settled."""

import json
from functools import partial
from uuid import uuid4

import pytest

from plant.people.models import Person
from records.items.models import Place
from records.ledger.actions import erase_words, settle_unplaced
from records.ledger.models import Entry, EntryBody, PrivateWords, Unplaced, UnplacedSettled
from records.ledger.refusals import Conflict, Refused
from records.ledger.verifying import verify
from tests.records.ledger.book import in_threads, note_shelf, said

pytestmark = pytest.mark.django_db


@pytest.fixture
def words() -> PrivateWords:
    return note_shelf("OUT", party="Rider: Anna B., Lienz", said=said()).party


@pytest.fixture
def unplaced() -> Unplaced:
    note_shelf("SHELF-1", said=said(key := uuid4()))
    with pytest.raises(Conflict):
        note_shelf("SHELF-2", said=said(key))
    return Unplaced.objects.get()


def test_erased_words_are_gone_and_the_record_still_proves_clean(words):
    erased = erase_words(words, reason="asked", said=said())
    left = PrivateWords.objects.get()
    assert (left.salt, left.text) == (None, None)
    assert bytes(left.commitment) == bytes(words.commitment)
    assert str(Place.objects.get().party) == "(erased)"
    assert (erased.entry.kind, erased.words, erased.reason) == ("words erased", left, "asked")
    assert verify().clean


def test_no_payload_holds_the_words_but_their_commitment(words):
    erase_words(words, reason="time", said=said())
    payloads = " ".join(EntryBody.objects.values_list("payload", flat=True))
    assert "Anna" not in payloads
    assert payloads.count(bytes(words.commitment).hex()) == 2


def test_a_repeat_of_erasing_returns_the_first(words):
    first = erase_words(words, reason="asked", said=said(key := uuid4()))
    assert erase_words(words, reason="asked", said=said(key)) == first
    assert Entry.objects.filter(kind="words erased").count() == 1


def test_words_are_erased_once(words):
    erase_words(words, reason="asked", said=said())
    with pytest.raises(Conflict) as refused:
        erase_words(words, reason="asked", said=said())
    assert refused.value.code == "erased"


def test_words_are_erased_for_a_reason_of_the_list_only(words):
    with pytest.raises(Refused) as refused:
        erase_words(words, reason="tidying up", said=said())
    assert refused.value.code == "unknown"
    assert PrivateWords.objects.get().text == "Rider: Anna B., Lienz"


@pytest.mark.parametrize(
    "ask",
    [
        lambda words, _, said: erase_words(words, reason="asked", said=said),
        lambda _, unplaced, said: settle_unplaced(unplaced, reason="twice", said=said),
    ],
)
def test_both_ask_for_the_right(words, unplaced, ask):
    somebody = Person.objects.create(badge="B-01")
    with pytest.raises(Refused) as refused:
        ask(words, unplaced, said(by=somebody))
    assert refused.value.code == "not-allowed"


def test_an_unplaced_entry_is_set_aside_with_a_reason(unplaced):
    settled = settle_unplaced(unplaced, reason="Anna pressed twice", said=said(key := uuid4()))
    assert (settled.how, settled.placed_by, settled.reason.text) == ("aside", None, "Anna pressed twice")
    assert settle_unplaced(unplaced, reason="Anna pressed twice", said=said(key)) == settled
    assert settled.entry.kind == "unplaced settled"
    row = json.loads(EntryBody.objects.get(entry=settled.entry).payload)["rows"][0]
    assert row["reason_id"] == bytes(settled.reason.commitment).hex()
    assert verify().clean


def test_an_unplaced_entry_is_placed_by_the_entry_that_tells_it_right(unplaced):
    note_shelf("SHELF-2", said=said(key := uuid4()))
    settled = settle_unplaced(unplaced, placed_by=key, said=said())
    assert (settled.how, settled.placed_by, settled.reason) == ("placed", key, None)
    assert verify().clean


@pytest.mark.parametrize(
    ("given", "code"), [({}, "no-reason"), ({"reason": "  "}, "no-reason"), ({"placed_by": uuid4()}, "unknown")]
)
def test_settling_asks_for_a_reason_or_a_key_that_stands(unplaced, given, code):
    with pytest.raises(Refused) as refused:
        settle_unplaced(unplaced, **given, said=said())
    assert refused.value.code == code
    assert not UnplacedSettled.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_of_two_who_settle_at_once_one_is_told_that_somebody_was_faster(unplaced):
    def settle(reason: str) -> str:
        try:
            return settle_unplaced(unplaced, reason=reason, said=said()).how
        except Conflict as refused:
            return refused.code

    reasons = ("twice", "by mistake", "unreadable", "told again")
    outcomes = in_threads(*(partial(settle, reason) for reason in reasons))
    assert sorted(outcomes) == ["aside", "settled", "settled", "settled"]
    assert UnplacedSettled.objects.count() == 1
    assert verify().clean


def test_the_second_to_settle_is_told_so(unplaced):
    settle_unplaced(unplaced, reason="twice", said=said())
    with pytest.raises(Conflict) as refused:
        settle_unplaced(unplaced, reason="something else", said=said())
    assert refused.value.code == "settled"
