"""Equipment as a list: its columns and what it can be narrowed by."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django import forms

from plant.lists import Drawn, HouseTable, RowFilter, begins

from .queries import EquipmentHere

WHAT = {"station": "Stations", "tool": "Tools", "recorder": "Recorders", "gauge": "Gauges and scales"}


class EquipmentFilter(RowFilter):
    """By what it is, by words of its kind or name, and by the beginning of its code."""

    what = forms.ChoiceField(label="What", choices=[("", "Everything"), *WHAT.items()])
    words = forms.CharField(label="Kind or name")
    code = forms.CharField(label="Code begins with")

    def fits(self, row: EquipmentHere, asked: dict[str, Any]) -> bool:
        words = (asked["words"] or "").strip().casefold()
        return (
            asked["what"] in ("", None, row.what)
            and words in f"{row.kind} {row.name}".casefold()
            and begins(row.code, asked["code"])
        )


class EquipmentTable(HouseTable):
    """Stations, tools, recorders and gauges; gauges past their check first."""

    code = Drawn("Code")
    what = tables.Column("What")
    kind = tables.Column("Kind")
    name = tables.Column("Name")
    known = tables.Column("Known of it")
    due_on = Drawn("Good until")
    is_overdue = tables.BooleanColumn(verbose_name="Past its check", visible=False)
    change = Drawn("To do", empty_values=(), orderable=False, exclude_from_export=True)

    cells = "equipment/_equipment_cell.html"
    caption = "Stations, tools, recorders and gauges"
    nothing = "Nothing is on file. An engineer adds the first station, then what work is done with."

    class Meta:
        row_attrs = {"id": lambda record: record.code}  # the library's own form
        default = ""

    def render_what(self, value: str) -> str:
        return value.capitalize()

    def value_what(self, value: str) -> str:
        return value

    def value_is_overdue(self, record: EquipmentHere) -> bool:
        return record.is_overdue
