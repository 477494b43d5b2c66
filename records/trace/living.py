"""The life line of an item from what is on file: what happened, when it was worked on, what joined it, what held it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from plant.people.queries import works_zone
from records.items.models import Hold, Item, Link
from records.items.queries import SCRAPPED, SHIPPED, Standing
from records.ledger.clock import clock
from records.runs.models import RunUnit
from records.steps.models import StepRecord

from .life import Event, Join, Life, draw_life
from .way import Happening


def life_of(item: Item, standing: Standing, way: Sequence[Happening]) -> Life | None:
    """Picture of an item's way; none where nothing is on file. Three queries."""
    zone = works_zone()
    ended = standing.where.state in (SHIPPED, SCRAPPED)
    return draw_life(
        [Event(told.stands_at.astimezone(zone), told.state, told.short, told.again) for told in way],
        worked=[(a.astimezone(zone), b.astimezone(zone)) for a, b in _worked(item)],
        joins=_joins(item, zone),
        holds=[(a.astimezone(zone), b and b.astimezone(zone)) for a, b in _held(item)],
        now=None if ended else clock.now().astimezone(zone),
    )


def _worked(item: Item) -> Iterable[tuple[datetime, datetime]]:
    """When hands or machines were on it: steps with a known begin, and runs."""
    steps = StepRecord.objects.standing().filter(unit=item).values_list("began_at", "ended_at")
    runs = RunUnit.objects.filter(unit=item).values_list("run__began_at", "run__ended_at")
    return [(began, ended) for began, ended in (*steps, *runs) if began and ended]


def _joins(item: Item, zone: object) -> list[Join]:
    """What was put into it, by the moment; what was taken out later joined when it went in."""
    rows = Link.objects.standing().filter(child=item).order_by("at", "pk")
    found: dict[datetime, list[str]] = {}
    for at, began, code in rows.values_list("at", "first__at", "parent__state__code"):
        found.setdefault(began or at, []).append(code)
    return [Join(at.astimezone(zone), tuple(codes)) for at, codes in sorted(found.items())]  # type: ignore[arg-type]


def _held(item: Item) -> Iterable[tuple[datetime, datetime | None]]:
    return Hold.objects.filter(item=item).order_by("at").values_list("at", "lift__at")
