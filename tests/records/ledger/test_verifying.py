"""Verification names what was changed behind the program's back: table, row, entry and column."""

import random

import pytest

from records.items.models import ItemState, Move, Place
from records.ledger import merkle
from records.ledger.actions import erase_words
from records.ledger.models import Entry, EntryBody, PrivateWords
from records.ledger.patterns import Fact
from records.ledger.sealing import seal_all
from records.ledger.triggers import record_models
from records.ledger.verifying import Fault, verify
from records.ledger.verifying.reading import one_moment
from tests import engines
from tests.records.ledger.book import change, faults, in_threads, note_shelf, owner, said, shelves, without_triggers
from tests.records.ledger.filling import fill, record_tables
from tests.records.ledger.tampering import hand

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def book() -> None:
    """Rows in every record table, sealed."""
    fill()
    seal_all()


def test_a_book_with_rows_in_every_table_is_clean(book):
    found = verify()
    assert found.faults == ()
    assert found.clean
    assert found.rows == sum(model._base_manager.count() for model in record_tables())
    assert (found.entries, found.unsealed, found.tree.size) == (Entry.objects.count(), 0, Entry.objects.count())


def test_a_random_change_in_each_record_table_is_named_and_nothing_else_is(book):
    chance = random.Random(20260302)
    named = 0
    with hand(chance, states=False) as owner_at_work:
        # That each table is compared does not hang on the engine; how values are read from it does.
        tables = chance.sample(owner_at_work.tables, 45) if engines.IS_POSTGRESQL else owner_at_work.tables
        for model in [*tables, *chance.sample(record_tables(), 15)]:
            with owner_at_work.one_change(model) as change:
                if change is None:
                    continue
                told = [f for f in faults() if f.kind not in ("trigger-missing", "state-differs")]
                assert change.is_named(told), change
                if issubclass(model, Fact) and change.what != "deleted":  # what is gone, others may have pointed to
                    assert [(f.table, f.row) for f in told] == [(change.table, change.row)]
                named += 1
    assert named >= len(tables) // 2 + 10
    assert faults() == []


def test_every_record_table_but_the_books_own_is_compared(book):
    own = {f"ledger_{name}" for name in ("entry", "entrybody", "leaf", "node", "signingkey", "treehead")}
    facts = {model._meta.db_table for model in record_models() if issubclass(model, Fact)}
    assert {model._meta.db_table for model in record_models()} - facts == own


def test_a_deleted_row_is_named():
    rows = shelves(3)
    change("items_place", "delete from items_place where id = %s", rows[1].pk)
    assert faults() == [
        Fault("row-missing", "items_place", "The entry names this row; it is not there.", rows[1].pk, rows[1].entry_id)
    ]


def test_an_added_row_is_named():
    rows = shelves(2)
    with owner() as cursor:
        cursor.execute(
            "insert into items_place (kind, code, entry_id) values ('shelf', 'SMUGGLED', %s) returning id",
            [rows[0].entry_id],
        )
        added = cursor.fetchone()[0]
    assert faults() == [Fault("row-extra", "items_place", "No entry names this row.", added, rows[0].entry_id)]


@pytest.mark.parametrize("direction", [1, -1])
def test_a_row_hung_under_another_entry_is_named_by_its_entry(direction):
    rows = shelves(3)[::direction]
    change("items_place", "update items_place set entry_id = %s where id = %s", rows[2].entry_id, rows[0].pk)
    words = f"The row says {rows[2].entry_id:,}, the ledger {rows[0].entry_id:,}."
    assert faults() == [Fault("row-changed", "items_place", words, rows[0].pk, rows[0].entry_id, "entry_id")]


def test_two_rows_swapped_are_named_though_their_contents_are_still_there():
    one, two = shelves(2)
    with without_triggers("items_place") as cursor:
        for pk, code in [(one.pk, "X"), (two.pk, one.code), (one.pk, two.code)]:
            cursor.execute("update items_place set code = %s where id = %s", [code, pk])
    assert [(f.row, f.column) for f in faults()] == [(one.pk, "code"), (two.pk, "code")]


def test_a_change_says_what_stands_there_and_what_the_ledger_says():
    row = note_shelf("SHELF-1", said=said())
    change("items_place", "update items_place set code = 'SHELF-2' where id = %s", row.pk)
    assert faults()[0].words == "The row says SHELF-2, the ledger SHELF-1."


@pytest.mark.parametrize("text", ['{"v":1}', "no payload at all"])
def test_a_changed_body_is_named_and_its_rows_are_not_judged_by_it(text):
    entry = shelves(3)[1].entry_id
    change("ledger_entrybody", "update ledger_entrybody set payload = %s where entry_id = %s", text, entry)
    assert [(f.kind, f.table, f.row, f.entry) for f in faults()] == [("body-changed", "ledger_entrybody", entry, entry)]


def test_a_deleted_body_is_named():
    entry = shelves(3)[1].entry_id
    change("ledger_entrybody", "delete from ledger_entrybody where entry_id = %s", entry)
    assert ("row-missing", "ledger_entrybody", entry) in [(f.kind, f.table, f.row) for f in faults()]


@pytest.mark.sqlite
def test_a_deleted_entry_is_named():
    entry = shelves(3)[1].entry_id
    change("ledger_entry", "delete from ledger_entry where id = %s", entry)
    assert [(f.kind, f.table, f.row) for f in faults()] == [("row-missing", "ledger_entry", entry)]


@pytest.mark.sqlite
def test_a_value_that_is_none_of_its_column_is_named_and_does_not_stop_the_rest(book):
    """SQLite keeps any text in a column of times."""
    pk = Move.objects.order_by("pk").values_list("pk", flat=True)[0]
    change("items_move", "update items_move set at = '2026-13-45 99:00:00' where id = %s", pk)
    told = [f for f in faults() if f.kind != "state-differs"]
    assert [(f.kind, f.table, f.row, f.column) for f in told] == [("row-changed", "items_move", pk, "at")]


def test_a_column_that_came_later_may_be_empty_in_rows_written_before():
    """No record table is back-filled: a payload from before a column was added does not name it."""
    row = note_shelf("SHELF-1", said=said())
    body = EntryBody.objects.get(entry=row.entry_id)
    older = body.payload.replace('"party_id":null,', "")
    change(
        "ledger_entrybody",
        "update ledger_entrybody set payload = %s, leaf_hash = %s where entry_id = %s",
        older,
        merkle.leaf_hash(older.encode()),
        row.entry_id,
    )
    assert older != body.payload
    assert faults() == []


@pytest.mark.parametrize(
    ("statement", "column"),
    [
        ("update items_itemstate set remaining = 17 where item_id = %s", "remaining"),
        ("update items_itemstate set code = 'ELSE' where item_id = %s", "code"),
        ("delete from items_itemstate where item_id = %s", None),
    ],
)
def test_a_changed_state_is_named(book, statement, column):
    pk = ItemState.objects.order_by("pk").first().pk
    with owner() as cursor:
        cursor.execute(statement, [pk])
    assert {(f.kind, f.table, f.row, f.column) for f in faults()} == {("state-differs", "items_itemstate", pk, column)}


def test_a_state_that_can_not_be_rebuilt_for_broken_records_does_not_stop_the_rest(book):
    with without_triggers("release_labelcheck", "release_labelprint", "items_itemcode") as cursor:
        cursor.execute("delete from release_labelcheck")
        cursor.execute("delete from release_labelprint")
        cursor.execute("delete from items_itemcode")
    told = faults()
    assert ("row-missing", "items_itemcode") in {(f.kind, f.table) for f in told}
    assert ("state-differs", "items_itemstate") in {(f.kind, f.table) for f in told}


def test_from_an_entry_on_earlier_rows_are_not_looked_at():
    rows = shelves(4)
    change("items_place", "update items_place set code = 'X' where id = %s", rows[0].pk)
    assert faults(start=rows[1].entry_id) == []
    assert verify(start=rows[1].entry_id).entries == 3
    assert [f.row for f in faults(start=rows[0].entry_id)] == [rows[0].pk]


def test_the_ledger_alone_does_not_compare_rows():
    rows = shelves(2)
    change("items_place", "update items_place set code = 'X' where id = %s", rows[0].pk)
    found = verify(ledger_only=True)
    assert (found.clean, found.rows, found.entries) == (True, None, 2)


def test_words_kept_are_clean_and_words_changed_are_named():
    place = note_shelf("SHELF-1", party="Rider: Anna B.", said=said())
    assert faults() == []
    with owner() as cursor:
        cursor.execute("update ledger_privatewords set text = 'Rider: Bruno C.'")
    assert [(f.kind, f.table, f.row, f.column) for f in faults()] == [
        ("row-changed", "ledger_privatewords", place.party_id, "text")
    ]


def test_words_emptied_without_an_act_are_named_and_with_one_they_are_clean():
    place = note_shelf("SHELF-1", party="Rider: Anna B.", said=said())
    with owner() as cursor:
        cursor.execute("update ledger_privatewords set salt = null, text = null")
    assert [(f.table, f.row, f.column) for f in faults()] == [("ledger_privatewords", place.party_id, "text")]


def test_words_that_come_back_after_they_were_erased_are_named():
    place = note_shelf("SHELF-1", party="Rider: Anna B.", said=said())
    before = PrivateWords.objects.get()
    erased = erase_words(place.party, reason="asked", said=said())
    assert faults() == []
    PrivateWords.objects.filter(pk=before.pk).update(salt=before.salt, text=before.text)
    assert [(f.row, f.entry, f.column) for f in faults()] == [(before.pk, erased.entry_id, "text")]


def test_a_writer_is_not_held_up_and_what_it_writes_meanwhile_is_not_seen():
    shelves(1)
    with one_moment():
        assert Place.objects.count() == 1
        in_threads(lambda: note_shelf("MEANWHILE", said=said()))
        assert Place.objects.count() == 1
    assert Place.objects.count() == 2
