"""The winding figure: a small wound tube drawn from a serial, so that screen and part can be told apart at a glance.

There are 240 variants, so two serials may share one: it is a glance check, never an identifier and never a proof.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256

POINTS = 72


@dataclass(frozen=True)
class Strand:
    """A piece of one strand that runs wholly before or wholly behind the tube."""

    path: str
    is_thick: bool
    is_before: bool


@dataclass(frozen=True)
class Winding:
    """A figure: its strands, those behind first, and the place of the ring around it. [px]"""

    width: int
    height: int
    strands: tuple[Strand, ...]
    ring: float


def winding(serial: str, width: int = 220, height: int = 52) -> Winding:
    """Figure of a serial: 2 to 4 strands each way, 1.5 to 3 turns, one of them thick, one ring.

    Examples
    --------
    >>> winding("TW-26-000396-8") == winding("TW-26-000396-8")
    True
    """
    drawn = sha256(serial.encode()).digest()
    count, turns = 2 + drawn[0] % 3, (1.5, 2.0, 2.5, 3.0)[drawn[1] % 4]
    ring, thick_way, phase = 0.22 + 0.14 * (drawn[2] % 5), 1 if drawn[3] % 2 else -1, drawn[4] % 2 * math.pi / count
    strands = [
        strand
        for n in range(count)
        for way in (1, -1)
        for strand in _strand(phase + math.tau * n / count, way * turns, n == 0 and way == thick_way, width, height)
    ]
    return Winding(width, height, tuple(sorted(strands, key=lambda s: s.is_before)), round(width * ring, 1))


def _strand(start: float, turns: float, is_thick: bool, width: int, height: int) -> Iterator[Strand]:
    """One strand cut where it passes over the edge of the tube."""
    middle, reach = height / 2, height / 2 - 3.5
    run: list[tuple[float, float]] = []
    side: bool | None = None
    for n in range(POINTS + 1):
        angle = start + math.tau * turns * n / POINTS
        place = (width * n / POINTS, middle - reach * math.sin(angle))
        is_before = math.cos(angle) >= 0
        if side is not None and is_before != side:
            yield Strand(_path([*run, place]), is_thick, side)
            run = []
        side = is_before
        run.append(place)
    yield Strand(_path(run), is_thick, bool(side))


def _path(places: list[tuple[float, float]]) -> str:
    return "M" + " ".join(f"{x:.0f},{y:.1f}" for x, y in places)
