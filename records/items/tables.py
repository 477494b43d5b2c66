"""The shelf as a list: its columns and what it can be narrowed by."""

from __future__ import annotations

from decimal import Decimal

import django_filters
import django_tables2 as tables
from django.template.loader import render_to_string

from plant.catalogue.models import Part
from plant.lists import HouseTable
from plant.quantities import UNITS, print_amount

from .models import Item
from .queries import StockRow

STATES = {"accept": "accepted", "risk": "released at risk", "reject": "rejected", "quarantine": "quarantine"}


class StockFilter(django_filters.FilterSet):
    """By part and by the beginning of the code."""

    part = django_filters.ModelChoiceFilter(
        field_name="revision__part",
        queryset=Part.objects.filter(tracked=Part.Tracked.LOT).order_by("number"),
        empty_label="Every material",
        label="Material",
    )
    code = django_filters.CharFilter("state__code", "istartswith", label="Code begins with")

    class Meta:
        model = Item
        fields: list[str] = []


class StockTable(HouseTable):
    """Lots with something left, those that end first at the head of their material."""

    code = tables.Column("Code")
    part = tables.Column("Part", accessor="part__number")
    left = tables.Column("Left", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    unit = tables.Column("Unit", accessor="part__unit", visible=False)  # in files, beside the bare number
    last_day = tables.Column("Last good day")
    state = tables.Column("State")
    place = tables.Column("Place")

    caption = "Lots that may be used or wait to be accepted"
    nothing = "Nothing that fits is left on the shelf."

    def render_code(self, record: StockRow) -> str:
        return cell("code", record)

    def value_code(self, record: StockRow) -> str:
        return record.code

    def render_part(self, record: StockRow) -> str:
        return cell("part", record)

    def value_part(self, record: StockRow) -> str:
        return record.part.number

    def render_left(self, record: StockRow) -> str:
        return print_amount(record.left, record.part.unit, record.part.unit_kind)

    def value_left(self, record: StockRow) -> Decimal:
        return Decimal(record.left) / UNITS[record.part.unit_kind][record.part.unit]

    def render_last_day(self, record: StockRow) -> str:
        return cell("last_day", record)

    def value_last_day(self, record: StockRow) -> object:
        return record.last_day

    def render_state(self, record: StockRow) -> str:
        return cell("state", record)

    def value_state(self, record: StockRow) -> str:
        return "held" if record.held else STATES.get(record.state, record.state)


def cell(name: str, row: StockRow) -> str:
    """A cell that is more than its text."""
    return render_to_string("items/_stock_cell.html", {"cell": name, "row": row})
