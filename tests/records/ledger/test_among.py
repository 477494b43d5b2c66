"""A filter by one array of numbers finds what a filter by as many parameters finds, and takes more of them."""

import pytest

from records.items.models import Item, Link, Move
from tests import builders


@pytest.mark.django_db
def test_among_is_in_whatever_the_column_and_however_many_numbers():
    builders.a_works()
    builders.a_frame()
    items = list(Item.objects.values_list("pk", flat=True))
    some = set(items[::2])
    for model, column in ((Item, "pk"), (Link, "parent_id"), (Link, "child__state__item_id"), (Move, "item")):
        rows = model.objects.order_by("pk")
        found = list(rows.filter(**{f"{column}__in": some}))
        assert found == list(rows.filter(**{f"{column}__among": some})) != []
        assert list(rows.filter(**{f"{column}__among": set()})) == []
    # More than a driver takes as parameters, and numbers too large for a small column type.
    many = some | set(range(10**12, 10**12 + 300_000))
    assert set(Item.objects.filter(pk__among=many).values_list("pk", flat=True)) == some
    assert set(Item.objects.exclude(pk__among=some).values_list("pk", flat=True)) == set(items) - some
