"""Plant: the figures that the program keeps of the floor, each as a list to take along."""

from __future__ import annotations

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from plant.lists import HouseTable, list_page
from plant.people.areas import in_area
from records.ledger.clock import clock

from .figures import AgeFigures, FlagFigures, StepFigures, age_figures, flag_figures, step_figures
from .figuring import MOST_SECONDS, MOST_TOUCHES

CHOICES = (
    ("figures:figures", "Touches and seconds"),
    ("figures:figures_unsent", "Age when sent"),
    ("figures:figures_flags", "Marks"),
)


def _share(value: float) -> str:
    return f"{value * 100:.0f} %"


class StepTable(HouseTable):
    """Touches and seconds a logged step."""

    week = tables.Column("Week of")
    step = tables.Column("Step")
    count = tables.Column("n", accessor="figures__count")
    touches_median = tables.Column("Touches, median", accessor="figures__touches_median")
    touches_90 = tables.Column("90 %", accessor="figures__touches_90")
    few = tables.Column(f"At most {MOST_TOUCHES}", accessor="figures__few_touches")
    seconds_median = tables.Column("Seconds, median", accessor="figures__seconds_median")
    seconds_90 = tables.Column("90 %", accessor="figures__seconds_90")
    quick = tables.Column(f"Under {MOST_SECONDS:.0f} s", accessor="figures__quick")

    caption = "Touches and seconds of logged steps by week"
    nothing = "No tablet has told how many touches a step took. They are counted from the unit's scan to the log."

    def render_few(self, record: StepFigures) -> str:
        return _share(record.figures.few_touches)

    def render_quick(self, record: StepFigures) -> str:
        return _share(record.figures.quick)

    def render_touches_median(self, value: float) -> str:
        return f"{value:.1f}"

    def render_touches_90(self, value: float) -> str:
        return f"{value:.1f}"

    def render_seconds_median(self, value: float) -> str:
        return f"{value:.0f}"

    def render_seconds_90(self, value: float) -> str:
        return f"{value:.0f}"


class AgeTable(HouseTable):
    """How old entries were when they went up."""

    week = tables.Column("Week of")
    age = tables.Column("Age when it went up", orderable=False)
    count = tables.Column("n")
    share = tables.Column("Of the week")

    caption = "Entries of tablets by their age when they went up"
    nothing = "No tablet has sent anything yet."

    def render_share(self, record: AgeFigures) -> str:
        return _share(record.share)


class FlagTable(HouseTable):
    """Marks by cause."""

    week = tables.Column("Week of")
    cause = tables.Column("Cause")
    count = tables.Column("n")

    caption = "Entries that were kept and marked, by cause"
    nothing = "No entry broke a rule."

    def render_cause(self, record: FlagFigures) -> str:
        return record.cause[:1].upper() + record.cause[1:]


def _page(request: HttpRequest, here: str, finding: str, table: HouseTable, name: str) -> HttpResponse:
    page = list_page(request, table, name=name)
    context = {"list": page, "finding": finding, "choices": [(n, words, n == here) for n, words in CHOICES]}
    return page.file or render(request, "floor/figures.html", context)


@in_area("Plant")
def figures(request: HttpRequest) -> HttpResponse:
    """Touches and seconds of logged steps, by week and kind of step."""
    rows = step_figures(clock.now())
    steps = sum(row.figures.count for row in rows)
    within = sum(row.figures.few_touches * row.figures.count for row in rows)
    share = _share(within / steps) if steps else ""
    finding = (
        f"{share} of {steps} logged steps took at most {MOST_TOUCHES} touches" if steps else "No step was counted yet"
    )
    return _page(request, "figures:figures", finding, StepTable(rows), "touches-and-seconds")


@in_area("Plant")
def figures_unsent(request: HttpRequest) -> HttpResponse:
    """How old entries of tablets were when they went up, by week."""
    rows = age_figures(clock.now())
    late = sum(row.count for row in rows if row.age in ("1 to 8 h", "over 8 h"))
    finding = f"{late} of {sum(row.count for row in rows)} entries were older than an hour when they went up"
    return _page(request, "figures:figures_unsent", finding, AgeTable(rows), "age-when-sent")


@in_area("Plant")
def figures_flags(request: HttpRequest) -> HttpResponse:
    """Marks by cause and week."""
    rows = flag_figures(clock.now())
    finding = f"{sum(row.count for row in rows)} marks in the last weeks"
    return _page(request, "figures:figures_flags", finding, FlagTable(rows), "marks-by-cause")
