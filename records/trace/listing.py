"""The lists of a trace as its page shows them: which rows stand where, and what they come to in words."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from plant.catalogue.models import Part
from records.items.queries import IN, OUT, SCRAPPED, SHIPPED

from .queries import Answer, Found
from .strands import Strands, by_carrier, strands

# Kinds whose name is a substance and takes no plural: told as lots.
_LOTS = frozenset(Part.Kind) - frozenset(Part.UNIT_KINDS)


@dataclass(frozen=True)
class Lists:
    """Frames with the drawing beside them; what is not yet a frame; what is inside something listed already."""

    frames: list[Found]
    drawing: Strands | None
    loose: list[Found]
    inside: list[Found]

    @property
    def where(self) -> list[str]:
        """Where the frames are, counted: the most first."""
        return [f"{n} {place}" for place, n in Counter(_at(found) for found in self.frames).most_common()]

    @property
    def what(self) -> list[str]:
        """Which kinds of things are not yet a frame, counted."""
        return [counted(kind, n) for kind, n in Counter(found.kind for found in self.loose).items()]

    @property
    def held(self) -> int:
        return sum(found.held for found in (*self.frames, *self.loose))


def lists_of(answer: Answer) -> Lists:
    """The lists of a trace. What is in a unit that is listed itself is looked at with that unit."""
    codes = {found.code for found in answer.listed}
    inside = [found for found in answer.others if found.state == IN and found.at in codes]
    loose = [found for found in answer.others if found not in inside]
    frames = by_carrier(answer.frames)
    return Lists(frames, strands(frames), sorted(loose, key=_by_kind), sorted(inside, key=_by_kind))


def counted(kind: str, n: int) -> str:
    """How many of a kind, in words.

    Examples
    --------
    >>> counted("front", 2), counted("resin-mix", 1), counted("fibre", 3)
    ('2 front triangles', '1 lot of mixed resin', '3 lots of fibre')
    """
    word = str(Part.Kind(kind).label)
    many = "" if n == 1 else "s"
    return f"{n} lot{many} of {word}" if kind in _LOTS else f"{n} {word}{many}"


def _at(found: Found) -> str:
    if found.state == SHIPPED:
        return f"with {found.at}"
    if found.state == OUT:
        return f"out at {found.at}"
    return "scrapped" if found.state == SCRAPPED else "in the works"


_ORDER = {kind: n for n, kind in enumerate(reversed(Part.Kind.values))}


def _by_kind(found: Found) -> tuple[int, int, str]:
    """Triangles first, then preforms, then lots; what is sure before what is not."""
    return (_ORDER[found.kind], found.cls, found.code)
