"""Answers of a trace: frames, everything else that still holds the root, and what lies below the cut-off."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple

from django.db.models import QuerySet

from plant.catalogue.models import Part, PartRevision
from plant.catalogue.queries import cut_off_ppb
from records.items.models import Item
from records.items.queries import Names, Whereabouts, held_among, item_by_code, names_of, places_named, whereabouts
from records.ledger.asking import Asking, Slot
from records.ledger.clock import clock
from records.ledger.marks import Mark
from records.ledger.models import Entry

from .labelling import CONFIRMED, ENDED, POSSIBLE, Label, way_to
from .walking import walk

SURE = {CONFIRMED: "confirmed", POSSIBLE: "possible", ENDED: None}


class Found(NamedTuple):
    """One thing that a trace found: what it is, how sure, with which share, by which way, where it is."""

    item: int
    names: Names
    kind: str
    part: str
    cls: int
    share_ppb: int | None
    way: tuple[str, ...]
    state: str
    at: str | None
    held: bool

    @property
    def code(self) -> str:
        return self.names.code

    @property
    def sure(self) -> str | None:
        return SURE[self.cls]

    @property
    def ended(self) -> bool:
        return self.cls == ENDED

    @property
    def between(self) -> tuple[str, ...]:
        """What stands on the way between the thing asked for and this one."""
        return self.way[1:-1]

    @property
    def is_frame(self) -> bool:
        return self.kind == Part.Kind.FRAME


@dataclass(frozen=True)
class Answer:
    """A whole trace of one thing."""

    of: Item
    names: Names
    mark: Mark | None
    upto_entry: int
    may_grow: bool
    cut_off_ppb: int | None
    frames: list[Found]
    others: list[Found]
    below: list[Found]
    loops: list[list[str]]

    @property
    def listed(self) -> list[Found]:
        """Frames and everything else, without what lies below the cut-off."""
        return [*self.frames, *self.others]

    def count(self, cls: int) -> int:
        return sum(found.cls == cls for found in self.listed)


@dataclass(frozen=True)
class Asked:
    """How a trace is asked: as known at a mark, along ended links too, which kinds, from which share on."""

    mark: Mark | None = None
    ended: bool = False
    only: Sequence[str] = ()
    cut_off_ppb: int | None = None


def where_used(code: str, asked: Asked | None = None) -> Answer:
    """Everything that holds any part of the thing with a code. Refuses ``unknown``."""
    return _trace(code, asked or Asked(), down=True)


def made_from(code: str, asked: Asked | None = None) -> Answer:
    """Everything that the thing with a code is made from. Refuses ``unknown``."""
    return _trace(code, asked or Asked(), down=False)


def _trace(code: str, asked: Asked, *, down: bool) -> Answer:
    mark = asked.mark
    item = item_by_code(code, mark)
    walked = walk([item.pk], down=down, mark=mark, ended=asked.ended)
    labels = walked.labels
    cut_off = asked.cut_off_ppb if asked.cut_off_ppb is not None else cut_off_ppb(clock.now())
    reached = _reached(labels, item.pk, asked)
    names = names_of({item.pk, *reached.mentioned, *chain(*walked.loops)}, mark)
    found = _describe(reached, labels, names, mark)
    below = [f for f in found if f.cls == POSSIBLE and cut_off is not None and (f.share_ppb or 0) < cut_off]
    listed = [f for f in found if f not in below] if below else found
    return Answer(
        of=item,
        names=names[item.pk],
        mark=mark,
        upto_entry=mark.upto if mark else newest_entry(),
        may_grow=bool(mark and mark.may_grow),
        cut_off_ppb=cut_off,
        frames=[f for f in listed if f.is_frame],
        others=[f for f in listed if not f.is_frame],
        below=below,
        loops=[sorted(names[number].code for number in group) for group in walked.loops],
    )


def newest_entry() -> int:
    """Number of the newest entry in the book; nought where there is none."""
    return next((number for (number,) in _NEWEST.rows()), 0)


_NEWEST = Asking(lambda _: Entry.objects.order_by("-pk").values_list("pk")[:1])


def is_asked(kind: str, tracked: str, only: Sequence[str]) -> bool:
    """Whether a kind is among those asked for; ``lot`` stands for every kind of lot."""
    return not only or kind in only or ("lot" in only and tracked == Part.Tracked.LOT)


class _Part(NamedTuple):
    kind: str
    number: str
    is_unit: bool


class _Reached(NamedTuple):
    """What is asked for of a walk: the part of each item, the way to it, and where it is."""

    parts: dict[int, _Part]
    ways: dict[int, list[int]]
    where: dict[int, Whereabouts]

    @property
    def mentioned(self) -> set[int]:
        """Items whose codes are told."""
        inside = (spot.inside for spot in self.where.values())
        return {*chain(*self.ways.values()), *filter(None, inside)}


def _reached(labels: Mapping[int, Label], root: int, asked: Asked) -> _Reached:
    parts = _parts_of(labels.keys() - {root}, asked.only)
    units = [item for item, part in parts.items() if part.is_unit]
    ways = {item: way_to(item, labels) for item in parts}
    return _Reached(parts, ways, whereabouts(parts, asked.mark, units=units))


def _parts_of(items: Iterable[int], only: Sequence[str]) -> dict[int, _Part]:
    """The part of each item that is asked for. Where kinds are asked for, items of others are not even read."""
    revisions = None if not only or "lot" in only else [n for n, kind in _REVISIONS.rows() if kind in only]
    return {
        item: _Part(kind, number, tracked == Part.Tracked.UNIT)
        for item, tracked, kind, number in _ITEMS.rows(items=items, revisions=revisions)
        if is_asked(kind, tracked, only)
    }


def _items(_: Mark | None, items: Slot, revisions: Slot | None) -> QuerySet:
    rows = Item.objects.filter(pk__among=items)
    rows = rows if revisions is None else rows.filter(revision_id__among=revisions)
    return rows.values_list("pk", "kind", "revision__part__kind", "revision__part__number")


_REVISIONS = Asking(lambda _: PartRevision.objects.values_list("pk", "part__kind"))
_ITEMS = Asking(_items)


def _describe(
    reached: _Reached, labels: Mapping[int, Label], names: Mapping[int, Names], mark: Mark | None
) -> list[Found]:
    """Places and holds of everything found, each with one array query."""
    held = held_among(reached.parts, mark)
    places = places_named(spot.place for spot in reached.where.values() if spot.place is not None)
    found = []
    for item, (kind, part, _) in reached.parts.items():
        label, spot = labels[item], reached.where[item]
        found.append(
            Found(
                item,
                names[item],
                kind,
                part,
                label.cls,
                label.share_ppb if label.cls == POSSIBLE else None,
                tuple([names[step].code for step in reached.ways[item]]),
                spot.state,
                place_words(spot, places, names),
                item in held,
            )
        )
    return sorted(found, key=lambda f: (f.cls, f.names.code))


def place_words(where: Whereabouts, places: Mapping[int, str], around: Mapping[int, Names]) -> str | None:
    """Where an item is, in words: the unit that it is in, or the place."""
    if where.inside is not None:
        return around[where.inside].code
    return places.get(where.place) if where.place is not None else None


def place_named(where: Whereabouts) -> str | None:
    """Where one item is, in words."""
    places = places_named([] if where.place is None else [where.place])
    return place_words(where, places, names_of([where.inside] if where.inside else []))
