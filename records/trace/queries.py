"""Answers of a trace: frames, everything else that still holds the root, and what lies below the cut-off."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple

from plant.catalogue.models import Part, PartRevision
from plant.catalogue.queries import cut_off_ppb
from records.items.models import Item, Place
from records.items.queries import Names, Whereabouts, held_among, item_by_code, names_of, whereabouts
from records.ledger.asking import Asking
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
    parts = _parts_of(labels.keys() - {item.pk}, asked.only)
    ways = {number: way_to(number, labels) for number in parts}
    names = names_of({item.pk, *chain(*ways.values()), *chain(*walked.loops)}, mark)
    found = _describe(parts, labels, ways, names, mark)
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


def _parts_of(items: Iterable[int], only: Sequence[str]) -> dict[int, _Part]:
    """The part of each item that is asked for, two array queries."""
    parts = {
        number: (kind, part) for number, kind, part in _REVISIONS.rows() if not only or kind in only or "lot" in only
    }
    return {
        item: _Part(*parts[revision], tracked == Part.Tracked.UNIT)
        for item, tracked, revision in _ITEMS.rows(items=items, revisions=parts)
        if is_asked(parts[revision][0], tracked, only)
    }


_REVISIONS = Asking(lambda _: PartRevision.objects.values_list("pk", "part__kind", "part__number"))
_ITEMS = Asking(
    lambda _, items, revisions: Item.objects.filter(pk__among=items, revision_id__among=revisions).values_list(
        "pk", "kind", "revision_id"
    )
)


def _describe(
    parts: Mapping[int, _Part],
    labels: Mapping[int, Label],
    ways: Mapping[int, Sequence[int]],
    names: Mapping[int, Names],
    mark: Mark | None,
) -> list[Found]:
    """Places and holds of everything found, a fixed number of array queries."""
    where = whereabouts(parts, mark, units=[item for item, part in parts.items() if part.is_unit])
    held = held_among(parts, mark)
    places = {
        p.pk: str(p)
        for p in Place.objects.filter(pk__in={w.place for w in where.values()}).select_related("party", "station")
    }
    inside = {w.inside for w in where.values() if w.inside}
    around = names_of(inside, mark) if inside else {}
    found = []
    for pk, (kind, part, _) in parts.items():
        label, spot = labels[pk], where[pk]
        found.append(
            Found(
                pk,
                names[pk],
                kind,
                part,
                label.cls,
                label.share_ppb if label.cls == POSSIBLE else None,
                tuple([names[step].code for step in ways[pk]]),
                spot.state,
                place_words(spot, places, around),
                pk in held,
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
    places = {
        p.pk: str(p)
        for p in Place.objects.filter(pk__in=[where.place] if where.place else []).select_related("party", "station")
    }
    return place_words(where, places, names_of([where.inside] if where.inside else []))
