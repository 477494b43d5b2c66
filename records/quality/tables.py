"""Decided matters as a list: its columns and what it can be narrowed by."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django import forms

from plant.lists import Drawn, HouseTable, RowFilter, begins, is_within

from .past import Decided

KINDS = {
    "hold": "Holds lifted",
    "departure": "Departures",
    "run": "Runs",
    "signal": "Signals",
    "mark": "Marked entries",
    "entry": "Entries not placed",
    "swap": "Swapped labels",
}


class DecidedFilter(RowFilter):
    """By kind, by code, by who decided, and by day."""

    kind = forms.ChoiceField(label="Matter", choices=[("", "Every matter"), *KINDS.items()])
    code = forms.CharField(label="Code begins with")
    by = forms.CharField(label="Who decided")
    since = forms.DateField(label="From", widget=forms.DateInput({"type": "date"}))
    until = forms.DateField(label="To", widget=forms.DateInput({"type": "date"}))

    def fits(self, row: Decided, asked: dict[str, Any]) -> bool:
        return (
            asked["kind"] in ("", None, row.kind)
            and begins(row.code, asked["code"])
            and (begins(row.by, asked["by"]) or begins(row.second or row.by, asked["by"]))
            and is_within(row.at, asked["since"], asked["until"])
        )


class DecidedTable(HouseTable):
    """Matters that were decided, the latest first."""

    at = Drawn("Decided")
    kind = Drawn("Matter")
    code = Drawn("On what", empty_values=())
    about = tables.Column("About")
    word = Drawn("What was decided")
    why = tables.Column("Why", orderable=False)
    by = tables.Column("By")
    second = tables.Column("Countersigned by", visible=False)

    roomy = True
    cells = "quality/_decided_cell.html"
    caption = "Matters that were decided"
    nothing = "Nothing has been decided yet. What waits stands on the bench; a decision moves it here."

    class Meta:
        default = ""

    def render_about(self, value: str) -> str:
        return value[:1].upper() + value[1:]

    def render_by(self, record: Decided) -> str:
        return f"{record.by}, countersigned by {record.second}" if record.second else record.by

    def value_by(self, record: Decided) -> str:
        return record.by
