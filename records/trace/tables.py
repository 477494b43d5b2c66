"""Everything with a code as a list: its columns and what it can be narrowed by."""

from __future__ import annotations

import django_filters
import django_tables2 as tables

from plant.catalogue.models import Part
from plant.lists import DayFilter, Drawn, HouseTable
from records.items.models import Item
from records.items.queries import HERE, IN, OUT, SCRAPPED, SHIPPED

WHERE = {
    HERE: "in the works",
    IN: "inside another",
    OUT: "out, to come back",
    SHIPPED: "shipped",
    SCRAPPED: "scrapped",
}


class ItemFilter(django_filters.FilterSet):
    """By the beginning of a code it has or had, by what it is, where it is, and by the day it was made or booked in."""

    begins = django_filters.CharFilter("codes__code", "istartswith", label="Code begins with", distinct=True)
    kind = django_filters.ChoiceFilter(
        field_name="revision__part__kind", choices=Part.Kind.choices, empty_label="Everything", label="What"
    )
    part = django_filters.CharFilter("revision__part__number", "istartswith", label="Part")
    where = django_filters.ChoiceFilter(
        field_name="state__where", choices=list(WHERE.items()), empty_label="Anywhere", label="Where"
    )
    since = DayFilter("born_at", "gte", label="Made from")
    until = DayFilter("born_at", "lte", label="Made to")

    class Meta:
        model = Item
        fields: list[str] = []


class ItemTable(HouseTable):
    """Units, lots and everything else with a code, the last made or booked in first."""

    code = Drawn("Code", accessor="state__code")
    kind = tables.Column("What", accessor="part__get_kind_display", order_by="revision__part__kind")
    part = tables.Column("Part", accessor="part__number", order_by="revision__part__number")
    where = tables.Column("Stands", accessor="state__where")
    place = Drawn("Where", accessor="state__place", orderable=False)
    born_at = Drawn("Since")

    cells = "trace/_item_cell.html"
    caption = "Everything with a code"
    nothing = "Nothing is on file yet. The first delivery is booked in under Stores."

    class Meta:
        default = ""

    def value_code(self, record: Item) -> str:
        return record.code

    def render_kind(self, value: str) -> str:
        return value[:1].upper() + value[1:]

    def value_kind(self, value: str) -> str:
        return value

    def render_where(self, value: str) -> str:
        return WHERE.get(value, value).capitalize()

    def value_where(self, value: str) -> str:
        return WHERE.get(value, value)

    def value_place(self, record: Item) -> str:
        inside = record.state.inside
        return inside.code if inside else str(record.state.place or "")
