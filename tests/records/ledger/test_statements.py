"""Rows inserted, and states changed, by statements whose text is made once."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import F
from django.db.models.functions import Greatest
from django.utils import timezone

from records.items.models import Item, ItemState, Move, Place
from records.ledger.asking import Changing
from records.ledger.models import Entry
from records.ledger.statements import insert
from records.steps.models import Waiting
from tests import builders

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works():
    builders.a_works()
    builders.a_front("F1")
    builders.a_front("F2")


def a_move(item: Item, **changes) -> Move:
    return Move(item=item, place=Place.objects.first(), at=timezone.now(), entry=Entry.objects.last(), **changes)


def stored(row) -> dict:
    return type(row)._base_manager.filter(pk=row.pk).values().get()


def test_a_row_stands_as_it_was_told_and_knows_its_number():
    item = Item.objects.first()
    row = a_move(item)
    insert(row)
    assert not row._state.adding
    assert stored(row) == {name: getattr(row, name) for name in ("id", "entry_id", "item_id", "place_id", "at")}


def test_a_row_whose_key_is_told_keeps_it():
    told = stored(ItemState.objects.get(code="F1"))
    ItemState.objects.filter(code="F1").delete()
    state = ItemState(**told)
    insert(state)
    assert stored(state) == told


def test_a_row_that_stands_is_not_inserted_once_more():
    with pytest.raises(TypeError, match="newer version"):
        insert(Move.objects.first())


def test_a_row_may_not_belong_to_one_that_is_not_there():
    with pytest.raises(ValueError, match="unsaved related object"):
        insert(a_move(Item()))


def test_a_twin_is_refused_as_django_tells_it():
    state = ItemState(**stored(ItemState.objects.first()))
    with pytest.raises(IntegrityError), transaction.atomic():
        insert(state)


def test_states_change_as_by_the_queryset_and_a_column_may_be_emptied():
    one, other, *_ = Waiting.objects.order_by("pk")
    entry, later = Entry.objects.first(), other.since + timedelta(hours=1)
    waits = Changing(
        lambda units, following, at, entry: (
            Waiting.objects.filter(unit_id__among=units),
            {"operation": following, "since": Greatest(F("since"), at), "entry": entry},
        )
    )
    assert waits.change(units=[one.pk], following=None, at=later, entry=entry.pk) == 1
    assert stored(one) == stored(one) | {"operation_id": None, "since": later, "entry_id": entry.pk}
    assert stored(other)["since"] == other.since
    told = {"following": one.operation_id, "at": one.since, "entry": entry.pk}
    assert waits.change(units=(unit.pk for unit in (one, other)), **told) == 2
    assert [row.since for row in Waiting.objects.order_by("pk")][:2] == [later, other.since]
    assert waits.change(units=[], **told) == 0


@pytest.mark.postgresql
def test_a_text_is_planned_once_whatever_numbers_and_gaps_come():
    item = Item.objects.first()
    for number, at in ((1, None), (10**5, timezone.now()), (10**10, None), (None, timezone.now())):
        for _ in range(3):
            row = ItemState(item=item, code="F1", remaining=number, placed_at=at, entry=Entry.objects.last())
            with transaction.atomic():
                ItemState.objects.all().delete()
                insert(row)
    with connection.cursor() as cursor:
        cursor.execute("select statement from pg_prepared_statements")
        texts = [text for (text,) in cursor.fetchall()]
    assert len([text for text in texts if text.startswith('insert into "items_itemstate"')]) == 1
    assert len(texts) == len(set(texts))
