"""The act: one transaction, one entry, the payload of exactly the rows written."""

import json
from datetime import timedelta
from functools import partial
from itertools import chain
from uuid import uuid4

import pytest

from plant.people.models import Person, Works
from records.items.models import Place
from records.ledger import acts, merkle
from records.ledger.acts import Act, Free, Said, act, flags_of, was_taken
from records.ledger.models import Entry, EntryBody, Flag, PrivateWords, Unplaced
from records.ledger.refusals import Conflict, Refused
from records.ledger.verifying import verify
from tests.records.ledger.book import MORNING, in_threads, note_shelf, said

pytestmark = pytest.mark.django_db


def refuse(code: str, *, said: Said) -> None:
    """An act that finds its rule broken after it has written."""
    with act("works opened", said, code=code) as a:
        a.write(Place(kind=Place.Kind.SHELF, code=code))
        raise Refused("no-room", "There is no room for %(code)s.", code=code)


def break_off(code: str, *, said: Said) -> None:
    """An act that fails after it has written, by a fault of the program."""
    with act("works opened", said) as a:
        a.write(Place(kind=Place.Kind.SHELF, code=code))
        raise ZeroDivisionError


def test_an_act_leaves_its_entry_its_row_and_the_payload_of_both(clock_at):
    taken_at = clock_at("2026-03-02T08:30:00Z")
    by = Person.objects.program()
    key = uuid4()
    place = note_shelf("SHELF-1", said=Said(by, key, MORNING, device="tab-03", offset_ms=-1800))
    entry = Entry.objects.get()
    body = EntryBody.objects.get()
    assert (place.entry, entry.kind, entry.device) == (entry, "works opened", "tab-03")
    assert (entry.made_at, entry.taken_at) == (MORNING, taken_at)
    assert entry.happened_at == MORNING - timedelta(milliseconds=1800)
    assert bytes(body.leaf_hash) == merkle.leaf_hash(body.payload.encode())
    told = json.loads(body.payload)
    assert (told["key"], told["by"], told["works"]) == (str(key), by.pk, "")
    assert told["rows"] == [
        {"t": "items_place", "id": place.pk, "kind": "shelf", "code": "SHELF-1", "station_id": None, "party_id": None}
    ]


def test_the_payload_names_the_works_once_it_is_open():
    with act("works opened", said()) as a:
        a.write(Works(code="TW", name="Tarnside Works", zone="Europe/London"))
    note_shelf("SHELF-1", said=said())
    assert [json.loads(b.payload)["works"] for b in EntryBody.objects.order_by("pk")] == ["TW", "TW"]


def test_a_repeat_returns_what_was_made_and_changes_nothing():
    first = note_shelf("SHELF-1", said=said(key := uuid4()))
    again = note_shelf("SHELF-1", said=said(key))
    assert again == first
    assert (Entry.objects.count(), EntryBody.objects.count(), Place.objects.count()) == (1, 1, 1)


def test_a_repeat_by_somebody_who_has_lost_the_right_is_a_repeat_all_the_same():
    """The key is looked at before any rule: the first answer may have been lost on the way."""
    first = note_shelf("SHELF-1", said=said(key := uuid4()))
    Person.objects.filter(badge="program").update(login=True)
    assert note_shelf("SHELF-1", said=said(key)) == first


def test_the_same_key_with_other_content_is_a_conflict_and_is_kept_once():
    note_shelf("SHELF-1", said=said(key := uuid4()))
    for _ in range(2):
        with pytest.raises(Conflict, match="other content"):
            note_shelf("SHELF-2", said=said(key))
    kept = Unplaced.objects.get()
    assert (kept.said_key, kept.said_kind, kept.code, kept.said_at) == (key, "works opened", "conflict", MORNING)
    assert json.loads(kept.raw)["asked"]["code"] == "SHELF-2"
    assert (kept.entry.kind, kept.entry.by.badge) == ("entry unplaced", "program")
    assert Place.objects.count() == 1
    assert verify().clean


@pytest.mark.parametrize("change", [{"done": True}, {"by": "set-up"}, {"at": MORNING + timedelta(seconds=1)}])
def test_another_maker_time_or_way_of_telling_is_other_content(change):
    note_shelf("SHELF-1", said=said(key := uuid4()))
    asked = {"by": Person.objects.program(), "key": key, "at": MORNING} | change
    if change.get("by"):
        asked["by"] = Person.objects.set_up()
    with pytest.raises(Conflict):
        note_shelf("SHELF-1", said=Said(**asked))


def test_other_free_words_are_other_content():
    note_shelf("SHELF-1", party="Rider: Anna B.", said=said(key := uuid4()))
    note_shelf("SHELF-1", party=" Rider: Anna B. ", said=said(key))
    with pytest.raises(Conflict):
        note_shelf("SHELF-1", party="Rider: Bruno C.", said=said(key))


def test_what_was_asked_tells_nothing_of_free_words_without_the_sites_secret(settings):
    """Else erased words could be found by trying guesses against the entry."""
    settings.SECRET_KEY = "one"
    note_shelf("SHELF-1", party="Rider: Anna B.", said=said(key := uuid4()))
    settings.SECRET_KEY = "another"
    with pytest.raises(Conflict):
        note_shelf("SHELF-1", party="Rider: Anna B.", said=said(key))


def test_a_refused_ask_leaves_nothing_and_its_key_is_free():
    with pytest.raises(Refused) as refused:
        refuse("SHELF-1", said=said(key := uuid4()))
    assert (refused.value.code, str(refused.value)) == ("no-room", "There is no room for SHELF-1.")
    assert (Entry.objects.count(), Place.objects.count(), Unplaced.objects.count()) == (0, 0, 0)
    assert not was_taken(key)
    note_shelf("SHELF-1", said=said(key))
    assert was_taken(key)


def test_a_refused_entry_of_something_done_is_kept_once_for_review():
    key = uuid4()
    for _ in range(2):
        with pytest.raises(Refused):
            refuse("SHELF-1", said=said(key, done=True))
    kept = Unplaced.objects.get()
    assert (kept.said_key, kept.code, kept.said_kind) == (key, "no-room", "works opened")
    assert Place.objects.count() == 0


def test_an_unplaced_entry_keeps_free_words_apart_wherever_they_stand():
    with (
        pytest.raises(Refused),
        act("works opened", said(done=True), lines=[{"to": Free("Anna B.")}, {"to": Free("")}]),
    ):
        raise Refused("no-room", "There is no room.")
    raw = Unplaced.objects.get().raw
    words = PrivateWords.objects.get()
    assert words.text == "Anna B."
    assert "Anna" not in raw
    assert json.loads(raw)["asked"]["lines"] == [
        {"to": {"words": words.pk, "commitment": bytes(words.commitment).hex()}},
        {"to": None},
    ]


def test_what_a_role_may_not_do_is_refused():
    somebody = Person.objects.create(badge="B-01")
    with pytest.raises(Refused) as refused:
        note_shelf("SHELF-1", said=said(by=somebody))
    assert refused.value.code == "not-allowed"
    assert not Entry.objects.exists()


def test_an_act_that_writes_no_row_is_a_mistake_of_the_program():
    with pytest.raises(RuntimeError, match="wrote no row"), act("works opened", said()):
        pass
    assert not Entry.objects.exists()


def test_a_failure_in_the_middle_leaves_nothing():
    with pytest.raises(ZeroDivisionError):
        break_off("SHELF-1", said=said())
    assert (Entry.objects.count(), EntryBody.objects.count(), Place.objects.count()) == (0, 0, 0)


def test_an_act_longer_than_a_minute_is_refused(monkeypatch):
    """Marks rely on it: what is numbered below a mark was taken at most two minutes later."""
    monkeypatch.setattr(acts, "LONGEST_ACT_S", 0)
    with pytest.raises(Refused) as refused:
        note_shelf("SHELF-1", said=said())
    assert refused.value.code == "too-slow"


def test_a_broken_rule_is_refused_at_the_gate_and_flagged_when_it_is_done():
    def use(a: Act) -> None:
        a.refuse_or_flag("held", "%(code)s is held.", code="SHELF-1")
        a.write(Place(kind=Place.Kind.SHELF, code="SHELF-1"))

    with pytest.raises(Refused, match="SHELF-1 is held"), act("works opened", said()) as a:
        use(a)
    with act("works opened", said(key := uuid4(), done=True)) as a:
        use(a)
    assert flags_of(key) == ["held"]
    assert Flag.objects.get().facts == '{"code":"SHELF-1"}'


def test_one_rule_broken_by_two_things_is_flagged_for_each_and_told_once():
    with act("works opened", said(key := uuid4(), done=True)) as a:
        for item in (1, 2, 2):
            a.flag("held", item=item)
    assert [flag.facts for flag in Flag.objects.order_by("pk")] == ['{"item":1}', '{"item":2}']
    assert flags_of(key) == ["held"]


def test_many_rows_of_one_table_stand_in_the_payload_in_their_order():
    with act("works opened", said()) as a:
        places = a.write_all(Place(kind=Place.Kind.SHELF, code=f"S-{n}") for n in range(5))
    rows = json.loads(EntryBody.objects.get().payload)["rows"]
    assert [(row["id"], row["code"]) for row in rows] == [(p.pk, p.code) for p in places]
    assert verify().clean


def test_a_record_row_is_not_saved_or_deleted_a_second_time():
    place = note_shelf("SHELF-1", said=said())
    with pytest.raises(TypeError, match="write a newer version"):
        place.save()
    with pytest.raises(TypeError, match="never deleted"):
        place.delete()


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
def test_eight_threads_that_send_the_same_keys_make_each_fact_once():
    """150 keys, each sent by 8 writers, half of them in reverse order: 1,200 answers, 150 distinct."""
    by = Person.objects.program()
    keys = list(enumerate(uuid4() for _ in range(150)))

    def send(order: int) -> list[tuple]:
        return [(key, note_shelf(f"SHELF-{n}", said=said(key, by=by)).pk) for n, key in keys[::order]]

    answers = list(chain.from_iterable(in_threads(*[partial(send, (-1) ** n) for n in range(8)])))
    assert (len(answers), len(set(answers)), Place.objects.count()) == (1200, 150, 150)
    assert verify().clean


@pytest.mark.django_db(transaction=True)
def test_a_refused_entry_sent_by_several_threads_at_once_is_kept_once():
    by, key = Person.objects.program(), uuid4()

    def send() -> str:
        with pytest.raises(Refused) as refused:
            refuse("SHELF-1", said=said(key, done=True, by=by))
        return refused.value.code

    assert in_threads(*[send] * 6) == ["no-room"] * 6
    assert Unplaced.objects.count() == 1
