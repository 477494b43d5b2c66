"""A question whose SQL is kept answers as the queryset does that is made anew each time."""

from datetime import timedelta

import pytest
from django.db.models import QuerySet

from records.items.models import Hold, Item, ItemCode, Link, Move
from records.items.queries import find_item
from records.ledger.asking import Asking, as_array
from records.ledger.marks import Mark
from records.ledger.models import Entry
from tests import builders

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works():
    builders.a_works()
    builders.a_frame()


def test_it_answers_as_the_queryset_does_for_other_items_and_other_marks():
    entries = list(Entry.objects.order_by("pk").values_list("pk", flat=True))
    items = list(Item.objects.values_list("pk", flat=True))
    columns = ("pk", "parent_id", "share_ppb", "draw_id", "at", "words_id")
    asking = Asking(
        lambda mark, items: (
            Link.objects.standing(mark).filter(child_id__among=items).order_by("pk").values_list(*columns)
        )
    )
    for mark in (None, Mark(entries[-1]), Mark(entries[-3], tuple(entries[-6:-4])), Mark(entries[-2]), Mark(0)):
        for some in (items, items[::2], set(items[:1]), ()):
            rows = Link.objects.standing(mark).filter(child_id__in=some).order_by("pk").values_list(*columns)
            assert asking.rows(mark, items=some) == list(rows)
    assert len(asking.rows(items=items)) > 5


def test_what_is_left_out_is_a_question_of_its_own():
    def moves(_, code, until) -> QuerySet:
        rows = Move.objects.filter(item__codes__code=code)
        return (rows if until is None else rows.filter(at__lte=until)).values_list("at", "place_id")

    asking, move = Asking(moves), Move.objects.filter(item__codes__code="X1").get()
    told = [(move.at, move.place_id)]
    assert asking.rows(code="X1", until=None) == told
    assert asking.rows(code="X1", until=move.at) == told
    assert asking.rows(code="X1", until=move.at - timedelta(microseconds=1)) == []
    assert asking.rows(code="no such", until=None) == []


def test_what_is_fixed_may_hold_any_sign_and_numbers_may_be_read_but_once():
    codes = list(ItemCode.objects.order_by("pk").values_list("item_id", "code"))
    asking = Asking(
        lambda _, items: (
            ItemCode.objects.filter(item_id__among=items, item__among=items)
            .exclude(code__in=["%", "it's", "%s", '"'])
            .exclude(code__contains="%")
            .order_by("pk")
            .values_list("item_id", "code")
        )
    )
    assert asking.rows(items=(item for item, _ in codes)) == codes


def test_a_time_comes_as_the_queryset_gives_it_whole_seconds_and_none_too():
    asking = Asking(lambda _: Item.objects.order_by("pk").values_list("born_at", "good_until", "expires_on"))
    rows = asking.rows()
    assert rows == list(Item.objects.order_by("pk").values_list("born_at", "good_until", "expires_on"))
    assert None in {good_until for _, good_until, _ in rows}
    assert {born.microsecond == 0 and born.tzinfo is not None for born, *_ in rows} == {True}


def test_its_sql_is_made_once(django_assert_num_queries):
    made = []

    def build(mark):
        made.append(mark)
        return Hold.objects.known(mark).values_list("pk")

    asking = Asking(build)
    with django_assert_num_queries(4):
        for mark in (None, Mark(5), Mark(7), None):
            asking.rows(mark)
    assert len(made) == 2


def test_an_item_found_by_code_is_the_one_that_the_models_give(django_assert_num_queries):
    whole = ItemCode.objects.select_related("item__revision__part", "item__state").get(code="X1").item
    with django_assert_num_queries(1):
        found = find_item("x1")
        assert (found.part.number, found.code) == ("OSIER", "X1")
    for ours, theirs in (
        (found, whole),
        (found.revision, whole.revision),
        (found.part, whole.part),
        (found.state, whole.state),
    ):
        assert type(ours) is type(theirs)
        names = [field.attname for field in theirs._meta.concrete_fields]
        assert [getattr(ours, name) for name in names] == [getattr(theirs, name) for name in names]
        assert not ours._state.adding
    assert find_item("no such") is None


def test_an_array_is_one_text():
    assert (as_array((), "postgresql"), as_array((), "sqlite")) == ("{}", "[]")
