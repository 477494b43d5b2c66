"""The figures that the program keeps of the floor: by kind of step and week, never by person.

Touches and seconds are counted by the tablet and travel with the entry; nobody is named, ranked or compared by them.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import (
    Case,
    Count,
    DateField,
    DurationField,
    ExpressionWrapper,
    F,
    JSONField,
    OuterRef,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.fields.json import KT
from django.db.models.functions import Cast, TruncWeek

from plant.people.queries import works_day, works_zone
from records.items.reasons import reason_words
from records.ledger.models import Entry, EntryBody, Flag, FromPaper
from records.steps.models import StepRecord

from .figuring import AGES, OLDER, Figures, figures_of

WEEKS = 8  # so many are looked at, this one with them. A choice of this project, no source.


def week_of(moment: datetime) -> date:
    """The Monday of the works' week."""
    day = works_day(moment)
    return day - timedelta(days=day.weekday())


def since(now: datetime) -> datetime:
    """From when on figures are looked at: a Monday's midnight at the works, so that no week is cut."""
    return datetime.combine(week_of(now) - timedelta(weeks=WEEKS - 1), time.min, works_zone())


def _week(of: str) -> TruncWeek:
    """The Monday of the works' week of a moment, worked out by the database."""
    return TruncWeek(of, output_field=DateField(), tzinfo=works_zone())


@dataclass(frozen=True)
class StepFigures:
    """Figures of one kind of step in one week."""

    week: date
    step: str
    figures: Figures


def step_figures(now: datetime) -> list[StepFigures]:
    """Touches and seconds by week and kind of step, the latest week first; one query."""
    found: dict[tuple[date, str], list[tuple[int, float]]] = defaultdict(list)
    for week, kind, step, touches, ms in _measured(now).iterator():
        found[week, step or kind].append((int(touches), int(ms) / 1000))
    rows = [
        StepFigures(week, step, figures_of([t for t, _ in pairs], [s for _, s in pairs]))
        for (week, step), pairs in found.items()
    ]
    return sorted(rows, key=lambda row: (-row.week.toordinal(), row.step))


def _measured(now: datetime) -> QuerySet[Any, tuple[Any, ...]]:
    step = StepRecord.objects.filter(entry=OuterRef("entry_id")).values("operation__name")[:1]
    rows = EntryBody.objects.filter(entry__taken_at__gte=since(now), payload__contains='"figures":{')
    rows = rows.annotate(told=Cast("payload", JSONField()), step=Subquery(step))
    rows = rows.annotate(touches=KT("told__told__figures__touches"), ms=KT("told__told__figures__ms"))
    rows = rows.filter(touches__isnull=False, ms__isnull=False).annotate(week=_week("entry__happened_at"))
    return rows.values_list("week", "entry__kind", "step", "touches", "ms")


@dataclass(frozen=True)
class AgeFigures:
    """How old entries of tablets were when they went up, in one week."""

    week: date
    age: str
    count: int
    share: float


def age_figures(now: datetime) -> list[AgeFigures]:
    """Entries by week and by their age when they went up; what was typed in from paper is left out; one query."""
    age = ExpressionWrapper(F("taken_at") - F("happened_at"), output_field=DurationField())
    within = [When(age__lt=timedelta(seconds=limit), then=Value(n)) for n, (limit, _) in enumerate(AGES)]
    rows = Entry.objects.filter(taken_at__gte=since(now)).exclude(device="")
    rows = rows.exclude(pk__in=FromPaper.objects.values("entry"))
    rows = rows.annotate(week=_week("happened_at"), age=age, place=Case(*within, default=Value(len(AGES))))
    counted = list(rows.values_list("week", "place").annotate(count=Count("pk")).order_by("-week", "place"))
    words = [*(told for _, told in AGES), OLDER]
    of_week: dict[date, int] = defaultdict(int)
    for week, _, count in counted:
        of_week[week] += count
    return [AgeFigures(week, words[place], count, count / of_week[week]) for week, place, count in counted]


@dataclass(frozen=True)
class FlagFigures:
    """How often a rule was broken by what was done, in one week."""

    week: date
    cause: str
    count: int


def flag_figures(now: datetime) -> list[FlagFigures]:
    """Marks by week and cause, the most first; one query."""
    rows = Flag.objects.filter(entry__taken_at__gte=since(now)).annotate(week=_week("entry__happened_at"))
    counted = rows.values_list("week", "code").annotate(count=Count("pk")).order_by("week", "code")
    found = [FlagFigures(week, reason_words(code), count) for week, code, count in counted]
    return sorted(found, key=lambda row: (-row.week.toordinal(), -row.count, row.cause))
