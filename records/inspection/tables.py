"""Gauges and scales as a list: its columns and what it can be narrowed by."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django import forms

from plant.lists import Drawn, HouseTable, RowFilter, begins

from .queries import GaugeRow

STANDS = {"overdue": "Past their check", "out": "Found out", "good": "Found good", "none": "No check on file"}


class GaugeFilter(RowFilter):
    """By how a gauge stands, by kind and by the beginning of its code."""

    stands = forms.ChoiceField(label="Which", choices=[("", "Every gauge"), *STANDS.items()])
    kind = forms.CharField(label="Kind")
    code = forms.CharField(label="Code begins with")

    def fits(self, row: GaugeRow, asked: dict[str, Any]) -> bool:
        stands = {row.found, "overdue" if row.is_overdue else ""}
        kind = (asked["kind"] or "").strip().casefold()
        return (
            (not asked["stands"] or asked["stands"] in stands)
            and kind in (row.gauge.kind or "gauge").casefold()
            and begins(row.gauge.code, asked["code"])
        )


class GaugeTable(HouseTable):
    """Gauges and scales, those found out or past their check first."""

    code = Drawn("Code", accessor="gauge__code")
    kind = tables.Column("Kind", accessor="gauge__kind", empty_values=())
    checked = Drawn("Last check", accessor="newest__done_at", empty_values=())
    found = Drawn("Found")
    due_on = Drawn("Good until", empty_values=())
    is_overdue = tables.BooleanColumn(verbose_name="Past its check", visible=False)
    certificate = tables.Column("Certificate", accessor="newest__certificate", visible=False)

    cells = "inspection/_gauge_cell.html"
    caption = "Gauges and scales"
    nothing = "No gauge is on file. An engineer adds one in the Rulebook."

    def render_kind(self, record: GaugeRow) -> str:
        return record.gauge.kind or "gauge"

    def value_checked(self, record: GaugeRow) -> object:
        return record.newest and record.newest.done_at

    def value_is_overdue(self, record: GaugeRow) -> bool:
        return record.is_overdue
