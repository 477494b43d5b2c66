"""The list of runs: its columns and what it can be narrowed by."""

from __future__ import annotations

import django_filters
import django_tables2 as tables
from django import forms
from django.db.models import QuerySet

from plant.lists import Drawn, HouseTable

from .models import Run, RunUnit
from .showing import RunRow

JUDGED = {"missing": "not judged", "accept": "accepted", "failed": "failed"}


class RunFilter(django_filters.FilterSet):
    """By kind, unit and day."""

    kind = django_filters.ChoiceFilter(choices=Run.Kind.choices, empty_label="Every kind", label="Kind")
    unit = django_filters.CharFilter(method="of_unit", label="Unit")
    since = django_filters.DateFilter("began_at", "date__gte", label="From", widget=forms.DateInput({"type": "date"}))
    until = django_filters.DateFilter("began_at", "date__lte", label="To", widget=forms.DateInput({"type": "date"}))

    class Meta:
        model = Run
        fields: list[str] = []

    def of_unit(self, runs: QuerySet[Run], name: str, value: str) -> QuerySet[Run]:
        """Runs with a unit whose code begins so."""
        lines = RunUnit.objects.filter(unit__codes__code__istartswith=value.strip()).values("run_id")
        return runs.filter(pk__in=lines) | runs.filter(first__in=lines)


class RunTable(HouseTable):
    """Runs, those that wait for a decision first."""

    run = Drawn("Run", accessor="run__code", order_by="run__code")
    kind = tables.Column("What", accessor="run__get_kind_display", order_by="run__kind")
    units = Drawn("Units", orderable=False)
    place = tables.Column("Where", accessor="run__place", order_by="place_word", empty_values=())
    began_at = Drawn("Began", accessor="run__began_at", order_by="run__began_at")
    logs = tables.Column("Files", attrs={"th": {"class": "n"}, "td": {"class": "n"}})
    state = Drawn("Judged", order_by="state")

    cells = "runs/_run_cell.html"
    caption = "Runs"
    nothing = "Nothing is on file that fits. A run is recorded with the units in it; then its recorder file is read in."

    def render_kind(self, value: str) -> str:
        return value[:1].upper() + value[1:]

    def value_units(self, record: RunRow) -> str:
        return " ".join(record.units)

    def render_place(self, record: RunRow) -> str:
        return record.place_word

    def value_state(self, record: RunRow) -> str:
        return JUDGED.get(record.state, record.state)
