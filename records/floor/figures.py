"""The figures that the program keeps of the floor: by kind of step and week, never by person.

Touches and seconds are counted by the tablet and travel with the entry; nobody is named, ranked or compared by them.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import JSONField, OuterRef, QuerySet, Subquery
from django.db.models.fields.json import KT
from django.db.models.functions import Cast

from plant.people.queries import works_day
from records.items.reasons import reason_words
from records.ledger.models import Entry, EntryBody, Flag, FromPaper
from records.steps.models import StepRecord

from .figuring import AGES, OLDER, Figures, age_class, figures_of

WEEKS = 8  # so many are looked at. A choice of this project, no source.


def week_of(moment: datetime) -> date:
    """The Monday of the works' week."""
    day = works_day(moment)
    return day - timedelta(days=day.weekday())


def since(now: datetime) -> datetime:
    """From when on figures are looked at."""
    return now - timedelta(weeks=WEEKS)


@dataclass(frozen=True)
class StepFigures:
    """Figures of one kind of step in one week."""

    week: date
    step: str
    figures: Figures


def step_figures(now: datetime) -> list[StepFigures]:
    """Touches and seconds by week and kind of step, the latest week first; one query."""
    found: dict[tuple[date, str], list[tuple[int, float]]] = defaultdict(list)
    for at, kind, step, touches, ms in _measured(now):
        found[week_of(at), step or kind].append((int(touches), int(ms) / 1000))
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
    rows = rows.filter(touches__isnull=False, ms__isnull=False)
    return rows.values_list("entry__happened_at", "entry__kind", "step", "touches", "ms")


@dataclass(frozen=True)
class AgeFigures:
    """How old entries of tablets were when they went up, in one week."""

    week: date
    age: str
    count: int
    share: float


def age_figures(now: datetime) -> list[AgeFigures]:
    """Entries by week and by their age when they went up; what was typed in from paper is left out; one query."""
    counted: dict[date, Counter[str]] = defaultdict(Counter)
    rows = Entry.objects.filter(taken_at__gte=since(now)).exclude(device="")
    rows = rows.exclude(pk__in=FromPaper.objects.values("entry"))
    for taken_at, happened_at in rows.values_list("taken_at", "happened_at"):
        counted[week_of(happened_at)][age_class((taken_at - happened_at).total_seconds())] += 1
    order = [words for _, words in AGES] + [OLDER]
    return [
        AgeFigures(week, age, counted[week][age], counted[week][age] / counted[week].total())
        for week in sorted(counted, reverse=True)
        for age in order
        if counted[week][age]
    ]


@dataclass(frozen=True)
class FlagFigures:
    """How often a rule was broken by what was done, in one week."""

    week: date
    cause: str
    count: int


def flag_figures(now: datetime) -> list[FlagFigures]:
    """Marks by week and cause, the most first; one query."""
    rows = Flag.objects.filter(entry__taken_at__gte=since(now)).values_list("entry__happened_at", "code")
    counted = Counter((week_of(at), code) for at, code in rows)
    found = [FlagFigures(week, reason_words(code), count) for (week, code), count in counted.items()]
    return sorted(found, key=lambda row: (-row.week.toordinal(), -row.count, row.cause))
