"""What each piece on a chart was made and measured with: tools, gauge, person, lots."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from plant.catalogue.models import Part
from plant.codes import short
from plant.equipment.models import Tool
from records.inspection.models import Measurement
from records.items.models import Link
from records.steps.models import StepRecord, StepTool

from .standing import ChartStanding

_LOTS = {Part.Kind.RESIN: "Resin", Part.Kind.FIBRE: "Fibre"}


def lane_values(standing: ChartStanding) -> dict[str, list[str]]:
    """A value for each place of a chart, by lane: tools first, then gauge, person, lots. Six queries at most."""
    rows = [point.measurement for point in standing.points]
    tools, lots = _tools(rows), _lots(rows)
    lanes = {
        str(Tool.Kind(kind).label).capitalize(): [tools[m.unit_id].get(kind, "") for m in rows] for kind in Tool.Kind
    }
    lanes["Gauge"] = [str(m.gauge or "") for m in rows]
    people = {
        m.entry_id: m.entry.by.name
        for m in Measurement.objects.filter(pk__in=[m.pk for m in rows]).select_related("entry__by__name_words")
    }
    lanes["Person"] = [people[m.entry_id] for m in rows]
    return lanes | {word: [lots[m.unit_id].get(kind, "") for m in rows] for kind, word in _LOTS.items()}


def _tools(rows: Sequence[Measurement]) -> dict[int, dict[str, str]]:
    """The tools of each unit, by kind; the last one used where there were several."""
    found: dict[int, dict[str, str]] = defaultdict(dict)
    steps = StepRecord.objects.standing().filter(unit__in=[m.unit_id for m in rows])
    uses = (
        StepTool.objects.filter(step__in=steps.values("pk")).select_related("tool", "step").order_by("step__ended_at")
    )
    for use in uses:
        found[use.step.unit_id][use.tool.kind] = use.tool.code
    return found


def _lots(rows: Sequence[Measurement]) -> dict[int, dict[str, str]]:
    """Resin and fibre of each unit, looked for in what went into it and one step behind."""
    near: dict[int, set[int]] = defaultdict(set)
    found: dict[int, dict[str, str]] = defaultdict(dict)
    parents: dict[int, list[int]] = defaultdict(list)
    for link in _links([m.unit_id for m in rows]):
        near[link.child_id].add(link.parent_id)
        parents[link.parent_id].append(link.child_id)
    for link in _links(list(parents)):
        kind = link.parent.part.kind
        for unit in parents[link.child_id] if kind in _LOTS else ():
            held = found[unit].get(kind, "")
            code = short(link.parent.code)
            found[unit][kind] = held if code in held else f"{held}, {code}" if held else code
    return found


def _links(children: Sequence[int]) -> list[Link]:
    rows = Link.objects.newest().filter(child__in=children, status=Link.Status.STANDS)
    return list(rows.select_related("parent__revision__part", "parent__state").order_by("at", "pk"))
