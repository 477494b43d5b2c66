"""The lists of a trace as its page shows them: which rows stand where, and what they come to in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from plant.catalogue.models import Part
from records.items.queries import IN, OUT, SCRAPPED, SHIPPED, balances, standing_of
from records.ledger.marks import Mark

from .bundling import Bundle, bundles, counted_by, strands_of
from .queries import Answer, Found
from .strands import Strands, by_carrier, strands

MOST_LISTED = 500  # frames on one page; with more, one bundle is shown at a time
MOST_BESIDE = 1000  # rows of a list beside the frames; the file holds all

# Kinds whose name is a substance and takes no plural: told as lots.
_LOTS = frozenset(Part.Kind) - frozenset(Part.UNIT_KINDS)


@dataclass(frozen=True)
class Lists:
    """Frames with the drawing beside them, in bundles where they are many; what is not yet a frame; the rest."""

    frames: list[Found]
    bundles: list[Bundle[Found]]
    drawing: Strands | None
    loose: list[Found]
    spent: list[Found]
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
    def bundle_rows(self) -> list[tuple[Bundle[Found], str]]:
        """Bundles, each with the places of its frames in words."""
        return [(bundle, places_of(bundle)) for bundle in self.bundles]

    @property
    def is_short(self) -> bool:
        """Whether one page can list all frames."""
        return len(self.frames) <= MOST_LISTED

    def shown(self, chosen: str) -> Bundle[Found] | None:
        """The bundle whose frames alone a page lists: the one chosen, and the first where all are too many."""
        if chosen.isdecimal() and 0 < int(chosen) <= len(self.bundles):
            return self.bundles[int(chosen) - 1]
        return None if self.is_short else self.bundles[0]

    @property
    def held(self) -> int:
        return sum(found.held for found in (*self.frames, *self.loose))


def lists_of(answer: Answer) -> Lists:
    """The lists of a trace. What is in a unit that is listed itself is looked at with that unit."""
    codes = {found.code for found in answer.listed}
    inside: list[Found] = []
    loose: list[Found] = []
    for found in answer.others:
        (inside if found.state == IN and found.at in codes else loose).append(found)
    frames = by_carrier(answer.frames)
    drawing = strands(frames)
    bundled = bundles(frames) if frames and drawing is None else []
    gone = _used_up(loose, answer.mark)
    return Lists(
        frames,
        bundled,
        strands_of(bundled) if bundled else drawing,
        sorted((found for found in loose if found.item not in gone), key=_by_kind),
        sorted((found for found in loose if found.item in gone), key=_by_kind),
        sorted(inside, key=_by_kind),
    )


def _used_up(rows: Iterable[Found], mark: Mark | None) -> set[int]:
    """Lots of which nothing is left by the records."""
    lots = [found.item for found in rows if found.kind in _LOTS and not found.held]
    return {lot for lot, balance in balances(lots, mark).items() if balance.received and balance.left <= 0}


def counted(kind: str, n: int) -> str:
    """How many of a kind, in words.

    Examples
    --------
    >>> counted("front", 2), counted("resin-mix", 1), counted("fibre", 3)
    ('2 front triangles', '1 pot of mixed resin', '3 lots of fibre')
    """
    word, many = str(Part.Kind(kind).label), "" if n == 1 else "s"
    if kind in (Part.Kind.RESIN_MIX, Part.Kind.ADHESIVE_MIX):
        return f"{n} pot{many} of {word}"
    return f"{n} lot{many} of {word}" if kind in _LOTS else f"{n} {word}{many}"


@dataclass(frozen=True)
class Reach:
    """A thing that can still be held: its code, and what it is and where, in words."""

    code: str
    told: str


def in_reach(answer: Answer, lists: Lists) -> list[Reach]:
    """What a hold can still reach: the thing asked for, frames and all that is not yet one, here or out for work.

    What is used up or inside a listed thing needs no hold of its own.
    """
    near = [found for found in (*lists.frames, *lists.loose) if found.state not in _BEYOND]
    root = standing_of(answer.of)
    own = [] if root.where.state in _BEYOND else [Reach(answer.names.code, f"{answer.names.code}, asked about")]
    return own + [Reach(found.code, _told(found)) for found in near]


def out_of_reach(lists: Lists) -> list[Found]:
    """Frames that were shipped or scrapped: no hold keeps them here."""
    return [found for found in lists.frames if found.state in _BEYOND]


def shipped_of(beyond: Iterable[Found]) -> list[Reach]:
    """Those that somebody may ride: a hold reaches their public page."""
    return [Reach(found.code, f"{found.code}, {_at(found)}") for found in beyond if found.state == SHIPPED]


_BEYOND = (SHIPPED, SCRAPPED)


def _told(found: Found) -> str:
    words = [found.code, str(Part.Kind(found.kind).label), _spot(found)]
    doubt = ["can't be ruled out"] if found.sure == "possible" else []
    return ", ".join([*words, *doubt, *(["held already"] if found.held else [])])


def _spot(found: Found) -> str:
    if found.state == OUT:
        return f"out at {found.at}"
    return f"in {found.at}" if found.state == IN else f"at {found.at}" if found.at else "in the works"


def places_of(bundle: Bundle[Found]) -> str:
    """Where the frames of a bundle are, the most first."""
    return counted_by([_at(found) for found in bundle.rows])


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
