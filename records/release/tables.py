"""Frames that wait for release, and frames that have gone, as lists."""

from __future__ import annotations

import django_filters
import django_tables2 as tables
from django.db.models import QuerySet

from plant.lists import DayFilter, Drawn, HouseTable
from records.items.models import ConsignmentLine

from .models import LabelPrint
from .queries import AtDoor


class WaitingTable(HouseTable):
    """Frames to be released, the longest waiting first."""

    code = Drawn("Frame", accessor="unit__code")
    since = Drawn("Waits", accessor="waiting__since", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    part = tables.Column("Part", accessor="unit__part__number")
    place = tables.Column("Where", accessor="unit__state__place", empty_values=(), orderable=False)
    held = Drawn("Held", accessor="is_held")
    gate = Drawn("To do", empty_values=(), orderable=False, exclude_from_export=True)

    cells = "release/_waiting_cell.html"
    caption = "Frames to be released"
    nothing = "None: a frame comes here when the last step of its route is on file."

    def render_place(self, record: AtDoor) -> str:
        return str(record.unit.state.place or "not said")


class GoneFilter(django_filters.FilterSet):
    """By the beginning of the code, by who got it, and by day."""

    code = django_filters.CharFilter("item__codes__code", "istartswith", label="Code begins with", distinct=True)
    to = django_filters.CharFilter("consignment__place__party__text", "icontains", label="To whom")
    since = DayFilter("consignment__at", "gte", label="From")
    until = DayFilter("consignment__at", "lte", label="To")

    class Meta:
        model = ConsignmentLine
        fields: list[str] = []


class GoneTable(HouseTable):
    """Frames and other units shipped for good, the latest first."""

    code = Drawn("Unit", accessor="item__state__code")
    part = tables.Column("Part", accessor="item__revision__part__number")
    to = tables.Column("To whom", accessor="consignment__place", order_by="consignment__place__party__text")
    at = Drawn("Shipped", accessor="consignment__at")
    shipment = Drawn("Shipment", accessor="consignment__code")
    by = tables.Column("Shipped by", accessor="entry__by__name", orderable=False)
    back = Drawn("Came back", accessor="customer_return__entry__happened_at", empty_values=())

    cells = "release/_gone_cell.html"
    caption = "Units that were shipped"
    nothing = "Nothing has been shipped yet. A released frame is shipped from the page before this one."

    def value_code(self, record: ConsignmentLine) -> str:
        return record.item.code

    def value_back(self, record: ConsignmentLine) -> object:
        came = getattr(record, "customer_return", None)
        return came and came.entry.happened_at


class LabelFilter(django_filters.FilterSet):
    """By the beginning of the code, by part, and by the day it was printed."""

    code = django_filters.CharFilter(method="with_code", label="Code begins with")
    part = django_filters.CharFilter("item_code__item__revision__part__number", "istartswith", label="Part begins with")
    since = DayFilter("entry__happened_at", "gte", label="Printed from")
    until = DayFilter("entry__happened_at", "lte", label="To")

    class Meta:
        model = LabelPrint
        fields: list[str] = []

    def with_code(self, rows: QuerySet[LabelPrint], _: str, value: str) -> QuerySet[LabelPrint]:
        return rows.filter(named__istartswith=value)  # type: ignore[misc]  # a column of that question


class LabelTable(HouseTable):
    """Labels that nobody has scanned back, the oldest first."""

    code = Drawn("Code", accessor="named")
    copy = tables.Column("Label", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    reason = tables.Column("Printed again because")
    part = tables.Column("What", accessor="item_code__item__revision__part__number", empty_values=())
    by = tables.Column("Printed by", accessor="entry__by__name", orderable=False)
    at = Drawn("When", accessor="entry__happened_at")

    cells = "release/_label_cell.html"
    caption = "Labels not scanned back"
    nothing = "None: every label that was printed was scanned back once it was stuck on."

    def render_part(self, record: LabelPrint) -> str:
        return record.item_code.item.part.number if record.item_code else "no part: a thing of the works"
