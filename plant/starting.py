"""What stands in each area at present, in one sentence each: the first page tells it before a door is opened."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from plant.catalogue.in_force import proposals_waiting
from plant.catalogue.models import Part
from plant.people.areas import Area
from plant.templatetags.showing import when
from records.items.shelf import stock_rows
from records.quality.bench import Matter, matters
from records.steps.queries import Queue, held_items, queues

# What is left in a pot past its end is waste, not stock.
MIXED = (Part.Kind.RESIN_MIX, Part.Kind.ADHESIVE_MIX)


@dataclass(frozen=True)
class Door:
    """An area with what stands in it; ``waits`` where somebody is to do something there."""

    area: Area
    finding: str
    waits: bool


class Standing:
    """What the sentences are made from, each read at most once."""

    @cached_property
    def matters(self) -> list[Matter]:
        return matters()

    @cached_property
    def queues(self) -> list[Queue]:
        return queues()

    def of_act(self, act: str) -> int:
        return sum(matter.act == act for matter in self.matters)


def doors(areas: list[Area]) -> list[Door]:
    """The areas, each with its finding where it has one."""
    standing = Standing()
    found = []
    for area in areas:
        tell = _TELLS.get(area.word)
        words, waits = tell(standing) if tell else ("", False)
        found.append(Door(area, words, waits))
    return found


def _count(count: int, one: str, does: str) -> str:
    """A count with its noun and verb: "1 run waits", "3 runs wait"."""
    return f"{count} {one} {does}s" if count == 1 else f"{count} {one}s {does}"


def _floor(standing: Standing) -> tuple[str, bool]:
    count = sum(len(queue.units) for queue in standing.queues)
    return (f"{_count(count, 'unit', 'wait')} for a step.", True) if count else ("No unit waits for a step.", False)


def _stores(_: Standing) -> tuple[str, bool]:
    rows = stock_rows()
    waits = sum(row.state == "quarantine" and not row.is_past for row in rows)
    past = sum(row.is_past and row.part.kind not in MIXED for row in rows)
    words = f"{_count(waits, 'lot', 'wait')} to be accepted" if waits else "No lot waits to be accepted"
    ended = f", {past} with something left past {'its' if past == 1 else 'their'} end" if past else ""
    return f"{words}{ended}.", bool(waits)


def _curves(standing: Standing) -> tuple[str, bool]:
    count = standing.of_act("run decided")
    return (f"{_count(count, 'run', 'wait')} for a decision." if count else "No run waits for a decision.", bool(count))


def _charts(standing: Standing) -> tuple[str, bool]:
    count = standing.of_act("signal answered")
    return (f"{_count(count, 'signal', 'wait')} for an answer." if count else "No signal waits.", bool(count))


def _review(standing: Standing) -> tuple[str, bool]:
    if not standing.matters:
        return "Nothing waits for a decision.", False
    oldest = when(standing.matters[0].at)
    return f"{_count(len(standing.matters), 'matter', 'wait')}, the oldest since {oldest}.", True


def _plant(standing: Standing) -> tuple[str, bool]:
    held = len(held_items())
    longest = max(standing.queues, key=lambda queue: len(queue.units), default=None)
    words = f"{_count(held, 'hold', 'bind')} on what is here." if held else "Nothing here is held."
    queue = f" The longest queue is {longest.operation.name} of {longest.part.number}." if longest else ""
    return words + queue, bool(held)


def _rulebook(_: Standing) -> tuple[str, bool]:
    count = len(proposals_waiting())
    return (f"{_count(count, 'change', 'wait')} for approval." if count else "No change waits.", bool(count))


_TELLS: dict[str, Callable[[Standing], tuple[str, bool]]] = {
    "Floor": _floor,
    "Stores": _stores,
    "Curves": _curves,
    "Charts": _charts,
    "Review": _review,
    "Plant": _plant,
    "Rulebook": _rulebook,
}
