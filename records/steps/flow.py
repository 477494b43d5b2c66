"""How units flow along their routes: what waits where, how long work waited before, what was right at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from statistics import median

from django.db.models import Max

from plant.catalogue.models import Part
from plant.catalogue.queries import route_of
from records.ledger.clock import clock

from .models import StepRecord, Waiting
from .queries import Queue

SPAN = timedelta(days=28)
ENOUGH = 20  # units from which on a share is told in percent. Common practice, no source.
# The strand beside the table, in px: one row a stage.
ROW, LEFT, STEP, MOST_DOTS = 48, 22, 14, 7


@dataclass
class Passed:
    """What was logged of one operation in a span."""

    tried: int = 0
    first_time: int = 0
    waits: list[timedelta] = field(default_factory=list)


@dataclass(frozen=True)
class Stage:
    """One operation of a route: units that wait for it, and how it went."""

    name: str
    waiting: tuple[Waiting, ...]
    passed: Passed

    @property
    def half_waited(self) -> timedelta | None:
        """The wait that half of the units stayed below: from the end of the step before until this one began."""
        waits = self.passed.waits
        return timedelta(seconds=median(wait.total_seconds() for wait in waits)) if waits else None

    @property
    def percent(self) -> int | None:
        """Share done at the first attempt, where enough units tell."""
        tried = self.passed.tried
        return round(100 * self.passed.first_time / tried) if tried >= ENOUGH else None

    @property
    def dots(self) -> list[int]:
        """Places of the units that wait, beside the strand."""
        return [LEFT + 24 + n * STEP for n in range(min(len(self.waiting), MOST_DOTS))]


@dataclass(frozen=True)
class Flow:
    """The route of one part, stage by stage."""

    part: Part
    stages: tuple[Stage, ...]

    @property
    def waiting(self) -> int:
        return sum(len(stage.waiting) for stage in self.stages)

    @property
    def height(self) -> int:
        return ROW * len(self.stages)

    @property
    def rows(self) -> list[tuple[int, Stage]]:
        """Stages, each with the middle of its row."""
        return [(ROW * n + ROW // 2, stage) for n, stage in enumerate(self.stages)]


@dataclass(frozen=True)
class Span:
    """The days that shares and waits are taken from; they end with the last step on file."""

    since: datetime
    until: datetime


def span_of_steps() -> Span | None:
    """The last 28 days in which anything was logged; none before the first step."""
    until = StepRecord.objects.standing().aggregate(last=Max("ended_at"))["last"]
    return Span(until - SPAN, until) if until else None


def flows(waiting: Iterable[Queue], span: Span | None) -> list[Flow]:
    """Routes in force of all parts that anything was logged of or waits for, from preform to frame."""
    queued = {(queue.part.pk, queue.operation.name): queue.units for queue in waiting}
    passed = passed_in(span) if span else {}
    parts = Part.objects.filter(pk__in={part for part, _ in (*queued, *passed)})
    found = []
    for part in sorted(parts, key=lambda part: (Part.Kind.values.index(part.kind), part.number)):
        route = route_of(part, clock.now())
        names = [operation.name for operation in route]
        names += sorted({name for of, name in queued if of == part.pk} - set(names))  # of an older route
        stages = [Stage(n, queued.get((part.pk, n), ()), passed.get((part.pk, n), Passed())) for n in names]
        found.append(Flow(part, tuple(stages)))
    return found


def passed_in(span: Span) -> dict[tuple[int, str], Passed]:
    """By part and operation: units tried for the first time in a span, those done at once, and how long they waited."""
    standing = StepRecord.objects.standing()
    recent = standing.filter(ended_at__gt=span.since, ended_at__lte=span.until)
    rows = standing.filter(unit__in=recent.values("unit")).order_by("unit_id", "ended_at", "pk")
    found: dict[tuple[int, str], Passed] = defaultdict(Passed)
    before: tuple[int, datetime] | None = None
    for row in rows.values_list(
        "unit_id", "unit__revision__part_id", "operation__name", "attempt", "outcome", "began_at", "ended_at"
    ):
        unit, part, name, attempt, outcome, began, ended = row
        if attempt == 1 and span.since < ended <= span.until:
            passed = found[part, name]
            passed.tried += 1
            passed.first_time += outcome == StepRecord.Outcome.DONE
            if before and before[0] == unit and before[1] <= (begun := began or ended):
                passed.waits.append(begun - before[1])
        before = (unit, ended)
    return dict(found)
