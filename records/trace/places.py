"""Where what a trace found is: frames as dots bunched by place, and what is not yet a frame, counted by kind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from plant.catalogue.models import Part
from records.items.queries import IN, OUT, SCRAPPED, SHIPPED

from .listing import counted
from .queries import Found

# Up to this many dots of a bunch carry the last figures of their serial; more are small and carry none.
MOST_NAMED = 12
BIG, BIG_STEP, SMALL, SMALL_STEP, SMALL_A_ROW, MOST_DOTS = 19, 46, 5, 14, 24, 480
MIDDLE = 44  # height of the strand
MARKS = {
    Part.Kind.FRONT: "front",
    Part.Kind.REAR: "rear",
    Part.Kind.RESIN_MIX: "potmark",
    Part.Kind.ADHESIVE_MIX: "potmark",
    Part.Kind.COUPON: "cup",
    Part.Kind.PREFORM: "named",
    Part.Kind.BLADDER: "named",
}


@dataclass(frozen=True)
class Dot:
    """One frame on the strand; its figures are empty where there is no room. [px]"""

    x: float
    y: float
    radius: int
    figures: str
    is_doubt: bool


@dataclass(frozen=True)
class Bunch:
    """Frames of one place: dots on the strand, the place with its count as a heading, and the words under it."""

    heading: str
    words: str
    dots: tuple[Dot, ...]
    width: int
    height: int


def bunches(frames: Sequence[Found]) -> list[Bunch]:
    """Frames by place: in the works, out for work, with those who have them, scrapped."""
    groups = {state: [f for f in frames if f.state == state] for state in (OUT, SHIPPED, SCRAPPED)}
    here = [found for found in frames if found.state not in groups]
    told = [
        (here, "in the works", ()),
        (groups[OUT], "out for work", _named(groups[OUT])),
        (groups[SHIPPED], "with those who got them", _named(groups[SHIPPED])),
        (groups[SCRAPPED], "scrapped", ()),
    ]
    each = frames_a_dot(len(frames))
    return [_bunch(rows, word, named, each) for rows, word, named in told if rows]


def _named(rows: Sequence[Found]) -> tuple[str, ...]:
    """Whom or where, with counts, the most first."""
    return tuple(f"{place} {n}" for place, n in Counter(found.at or "not said" for found in rows).most_common(4))


def _bunch(rows: Sequence[Found], word: str, named: tuple[str, ...], each: int) -> Bunch:
    ordered = sorted(rows, key=lambda found: (found.sure != "confirmed", found.code))
    dots = _dots(ordered, each)
    words = [_sureness(rows), ", ".join(named), _held(rows) if word != "scrapped" else ""]
    words.append(f"each dot is {each} frames" if each > 1 else "")
    return Bunch(
        heading=f"{len(rows)} {word}",
        words=" ".join(f"{told[:1].upper()}{told[1:]}." for told in words if told),
        dots=dots,
        width=round(max(dot.x + dot.radius for dot in dots) + 5),
        height=max(2 * MIDDLE, round(max(dot.y for dot in dots)) + 16),
    )


def frames_a_dot(count: int) -> int:
    """How many frames a dot stands for, where there are so many frames in all.

    Examples
    --------
    >>> frames_a_dot(480), frames_a_dot(481), frames_a_dot(2983)
    (1, 2, 7)
    """
    return max(1, -(-count // MOST_DOTS))


def _dots(rows: Sequence[Found], each: int) -> tuple[Dot, ...]:
    if len(rows) <= MOST_NAMED and each == 1:
        return tuple(
            Dot(BIG + 5 + n * BIG_STEP, MIDDLE, BIG, figures(found.code), found.sure != "confirmed")
            for n, found in enumerate(rows)
        )
    # Those in doubt come last, so the last of those that share a dot tells whether any of them is.
    shown = [rows[min(first + each, len(rows)) - 1] for first in range(0, len(rows), each)]
    lines = -(-len(shown) // SMALL_A_ROW)
    top = max(MIDDLE - (lines - 1) * SMALL_STEP / 2, SMALL + 3)
    return tuple(
        Dot(
            SMALL + 4 + n % SMALL_A_ROW * SMALL_STEP,
            top + n // SMALL_A_ROW * SMALL_STEP,
            SMALL,
            "",
            found.sure != "confirmed",
        )
        for n, found in enumerate(shown)
    )


def figures(code: str) -> str:
    """The last three figures of a serial, for a dot.

    Examples
    --------
    >>> figures("TW-26-000396-8"), figures("TW-7")
    ('396', '7')
    """
    pieces = code.split("-")
    return pieces[2][-3:] if len(pieces) == 4 else pieces[-1][-3:]


def _sureness(rows: Sequence[Found]) -> str:
    sure = sum(found.sure == "confirmed" for found in rows)
    doubt = sum(found.sure == "possible" for found in rows)
    has = "" if not sure else "all have it" if sure == len(rows) > 1 else f"{sure} ha{'s' if sure == 1 else 've'} it"
    return ", ".join(part for part in (has, f"{doubt} can’t be ruled out" if doubt else "") if part)


def _held(rows: Sequence[Found]) -> str:
    held = sum(found.held for found in rows)
    return "all are held" if held == len(rows) > 1 else f"{held} held" if held else "none is held"


@dataclass(frozen=True)
class Loose:
    """Things of one kind that are not yet a frame: their mark, their count, and where they are in words."""

    mark: str
    heading: str
    words: str


def not_yet_frames(rows: Sequence[Found]) -> list[Loose]:
    """What is not yet a frame, by kind in the order of the list."""
    by_kind: dict[str, list[Found]] = {}
    for found in rows:
        by_kind.setdefault(found.kind, []).append(found)
    return [
        Loose(MARKS.get(Part.Kind(kind), "lot"), counted(kind, len(few)), _where(few)) for kind, few in by_kind.items()
    ]


def _where(rows: Sequence[Found]) -> str:
    spots = Counter(_spot(found) for found in rows).most_common(3)
    told = ", ".join(f"{n} {spot}" if len(rows) > 1 else spot for spot, n in spots)
    more = len({_spot(found) for found in rows}) - len(spots)
    doubt = sum(found.sure == "possible" for found in rows)
    parts = [
        told,
        f"{more} places more" if more > 0 else "",
        f"{doubt} can’t be ruled out" if doubt else "",
        _held(rows),
    ]
    return "; ".join(part for part in parts if part)


def _spot(found: Found) -> str:
    if found.state == SCRAPPED:
        return "scrapped"
    if found.state in (OUT, SHIPPED):
        return f"with {found.at}"
    if found.state == IN:
        return f"in {found.at}"
    return f"at {found.at}" if found.at else "nobody said where"
