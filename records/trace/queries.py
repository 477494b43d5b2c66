"""Answers of a trace: frames, everything else that still holds the root, and what lies below the cut-off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plant.catalogue.models import Part
from plant.catalogue.queries import cut_off_ppb
from records.items.models import Item, Place
from records.items.queries import Names, Whereabouts, holds_on, item_by_code, names_of, whereabouts
from records.ledger.clock import clock
from records.ledger.marks import Mark
from records.ledger.models import Entry

from .labelling import CONFIRMED, ENDED, POSSIBLE, way_to
from .walking import walk

SURE = {CONFIRMED: "confirmed", POSSIBLE: "possible", ENDED: None}


@dataclass(frozen=True)
class Found:
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
    cut_off = asked.cut_off_ppb if asked.cut_off_ppb is not None else cut_off_ppb(clock.now())
    names = names_of(walked.labels, mark)
    found = _describe([number for number in walked.labels if number != item.pk], walked.labels, names, asked)
    below = [f for f in found if f.cls == POSSIBLE and cut_off is not None and (f.share_ppb or 0) < cut_off]
    listed = [f for f in found if f not in below]
    newest = Entry.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
    return Answer(
        of=item,
        names=names[item.pk],
        mark=mark,
        upto_entry=mark.upto if mark else newest,
        may_grow=bool(mark and mark.may_grow),
        cut_off_ppb=cut_off,
        frames=[f for f in listed if f.is_frame],
        others=[f for f in listed if not f.is_frame],
        below=below,
        loops=[sorted(names[number].code for number in group) for group in walked.loops],
    )


def is_asked(kind: str, tracked: str, only: Sequence[str]) -> bool:
    """Whether a kind is among those asked for; ``lot`` stands for every kind of lot."""
    return not only or kind in only or ("lot" in only and tracked == Part.Tracked.LOT)


def _describe(numbers: list[int], labels: dict, names: dict[int, Names], asked: Asked) -> list[Found]:
    """Codes, places and holds of everything found, a fixed number of array queries."""
    rows = Item.objects.filter(pk__among=set(numbers)).values_list(
        "pk", "kind", "revision__part__kind", "revision__part__number"
    )
    parts = {pk: (kind, part) for pk, tracked, kind, part in rows if is_asked(kind, tracked, asked.only)}
    where = whereabouts(parts, asked.mark)
    held = {hold.item_id for hold in holds_on(parts, asked.mark)}
    places = {
        p.pk: str(p)
        for p in Place.objects.filter(pk__in={w.place for w in where.values()}).select_related("party", "station")
    }
    around = names_of({w.inside for w in where.values() if w.inside}, asked.mark)
    found = []
    for pk, (kind, part) in parts.items():
        label = labels[pk]
        found.append(
            Found(
                item=pk,
                names=names[pk],
                kind=kind,
                part=part,
                cls=label.cls,
                share_ppb=label.share_ppb if label.cls == POSSIBLE else None,
                way=tuple(names[step].code for step in way_to(pk, labels)),
                state=where[pk].state,
                at=place_words(where[pk], places, around),
                held=pk in held,
            )
        )
    return sorted(found, key=lambda f: (f.cls, f.code))


def place_words(where: Whereabouts, places: dict[int, str], around: dict[int, Names]) -> str | None:
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
