"""Moulds that stand closed, for the tablet that takes them along: which unit is in which, and what was tested."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from plant.catalogue.models import Operation
from plant.equipment.models import Tool
from records.ledger.canonical import time_text
from records.ledger.clock import clock
from records.steps.checks import Check, checks_of_all, unsafe_of_all
from records.steps.models import StepRecord, StepTool, Waiting

from .holding import filling_of

Data = dict[str, Any]


def moulded_here(waiting: Sequence[Waiting]) -> dict[int, Data]:
    """By unit its mould and the checks of its closing, of those that are not out of the mould; a few queries."""
    routes = _routes_of(waiting)
    still = {
        row.unit_id: routes[row.operation.route_revision_id]
        for row in waiting
        if row.operation and row.operation.n <= _opens(routes[row.operation.route_revision_id])
    }
    moulds = _moulds_of(still)
    filling = filling_of(step for route in routes.values() for step in route)
    to_fill = {
        unit: route for unit, route in still.items() if unit in moulds and any(step.pk in filling for step in route)
    }
    checks = checks_of_all(to_fill, clock.now())
    unsafe = unsafe_of_all({unit: still[unit] for unit in moulds}, clock.now())
    return {
        unit: {
            "mould": mould,
            "checks": {one.operation.name: _told(one) for one in checks.get(unit, ())},
            "unsafe": unsafe.get(unit, []),
        }
        for unit, mould in moulds.items()
    }


def _routes_of(waiting: Sequence[Waiting]) -> dict[int, list[Operation]]:
    found: dict[int, list[Operation]] = defaultdict(list)
    wanted = {row.operation.route_revision_id for row in waiting if row.operation}
    for step in Operation.objects.filter(route_revision__in=wanted).select_related("lapse", "carrier").order_by("n"):
        found[step.route_revision_id].append(step)
    return found


def _opens(route: Sequence[Operation]) -> int:
    """Place in a route of the step with which the part comes out of its mould."""
    return max((step.n for step in route if step.makes_safe), default=0)


def _moulds_of(units: dict[int, list[Operation]]) -> dict[int, str]:
    uses = StepTool.objects.filter(
        tool__kind=Tool.Kind.MOULD, step__unit_id__in=list(units), step__in=StepRecord.objects.standing()
    )
    return dict(uses.order_by("step__ended_at", "pk").values_list("step__unit_id", "tool__code"))


def _told(check: Check) -> Data:
    return {"until": time_text(check.until) if check.until else "", "good": check.is_good}
