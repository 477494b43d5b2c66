"""Frames that wait for release, and frames that have gone, as lists."""

from __future__ import annotations

import django_filters
import django_tables2 as tables

from plant.lists import DayFilter, HouseTable
from records.items.models import ConsignmentLine

from .queries import AtDoor


class WaitingTable(HouseTable):
    """Frames to be released, the longest waiting first."""

    code = tables.Column("Frame", accessor="unit__code")
    since = tables.Column("Waits", accessor="waiting__since", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    part = tables.Column("Part", accessor="unit__part__number")
    place = tables.Column("Where", accessor="unit__state__place", empty_values=(), orderable=False)
    held = tables.Column("Held", accessor="is_held")
    gate = tables.Column("To do", empty_values=(), orderable=False, exclude_from_export=True)

    cells = "release/_waiting_cell.html"
    caption = "Frames to be released"
    nothing = "None: a frame comes here when the last step of its route is on file."

    def render_code(self, record: AtDoor) -> str:
        return self.drawn("code", record)

    def value_code(self, record: AtDoor) -> str:
        return record.unit.code

    def render_since(self, record: AtDoor) -> str:
        return self.drawn("since", record)

    def value_since(self, record: AtDoor) -> object:
        return record.waiting.since

    def render_place(self, record: AtDoor) -> str:
        return str(record.unit.state.place or "not said")

    def render_held(self, record: AtDoor) -> str:
        return self.drawn("held", record)

    def value_held(self, record: AtDoor) -> bool:
        return record.is_held

    def render_gate(self, record: AtDoor) -> str:
        return self.drawn("gate", record)


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

    code = tables.Column("Unit", accessor="item__state__code")
    part = tables.Column("Part", accessor="item__revision__part__number")
    to = tables.Column("To whom", accessor="consignment__place", order_by="consignment__place__party__text")
    at = tables.Column("Shipped", accessor="consignment__at")
    shipment = tables.Column("Shipment", accessor="consignment__code")
    by = tables.Column("Shipped by", accessor="entry__by__name", orderable=False)
    back = tables.Column("Came back", accessor="customer_return__entry__happened_at", empty_values=())

    cells = "release/_gone_cell.html"
    caption = "Units that were shipped"
    nothing = "Nothing has been shipped yet. A released frame is shipped from the page before this one."

    def render_code(self, record: ConsignmentLine) -> str:
        return self.drawn("code", record)

    def value_code(self, record: ConsignmentLine) -> str:
        return record.item.code

    def render_at(self, record: ConsignmentLine) -> str:
        return self.drawn("at", record)

    def value_at(self, record: ConsignmentLine) -> object:
        return record.consignment.at

    def render_shipment(self, record: ConsignmentLine) -> str:
        return self.drawn("shipment", record)

    def value_shipment(self, record: ConsignmentLine) -> str:
        return record.consignment.code

    def render_back(self, record: ConsignmentLine) -> str:
        return self.drawn("back", record)

    def value_back(self, record: ConsignmentLine) -> object:
        came = getattr(record, "customer_return", None)
        return came and came.entry.happened_at
