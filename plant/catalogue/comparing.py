"""A revision beside the one before it: what stays, what changes, for whoever approves it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from . import writing_back
from .models import (
    CharacteristicRevision,
    MixRevision,
    PartRevision,
    RecipeRevision,
    Revision,
    RouteRevision,
    RulebookRevision,
)

# What says that two revisions are of one thing.
_OF: dict[type[Revision], tuple[str, ...]] = {
    PartRevision: ("part_id",),
    CharacteristicRevision: ("characteristic_id",),
    RouteRevision: ("part_id",),
    RecipeRevision: ("recipe",),
    MixRevision: ("mix",),
    RulebookRevision: (),
}


@dataclass(frozen=True)
class Line:
    """One thing that a revision states, with what the one before stated."""

    word: str
    was: str
    now: str

    @property
    def changes(self) -> bool:
        return self.was != self.now


@dataclass(frozen=True)
class Compared:
    """A revision, the one before it where there is one, and both line by line."""

    kind: str
    row: Any
    before: Any
    lines: tuple[Line, ...]

    @property
    def changed(self) -> list[str]:
        """Words of the lines that change; none for a first revision."""
        return [line.word for line in self.lines if line.changes] if self.before else []


def compared(kind: str, row: Revision) -> Compared:
    """A revision against the approved one before it."""
    before = revision_before(row)
    new, old = dict(stated(row)), dict(stated(before)) if before else {}
    words = [*new, *(word for word in old if word not in new)]
    return Compared(kind, row, before, tuple(Line(word, old.get(word, ""), new.get(word, "")) for word in words))


def revision_before(row: Revision) -> Revision | None:
    """The newest revision of the same thing that was approved before this one was put forward."""
    model = type(row)
    of = {name: getattr(row, name) for name in _OF[model]}
    approved = model._default_manager.filter(proposal__approval__isnull=False, pk__lt=row.pk, **of)
    return approved.order_by("-pk").first()


def stated(row: Any) -> list[tuple[str, str]]:
    """A revision as lines of words and values."""
    match row:
        case PartRevision():
            spec: Any = writing_back.part_spec(row)
        case CharacteristicRevision():
            spec = writing_back.band_spec(row)
        case MixRevision():
            spec = writing_back.mix_spec(row)
        case RouteRevision():
            return writing_back.route_lines(row)
        case RulebookRevision():
            spec = writing_back.rulebook_spec(row)
        case _:
            return writing_back.recipe_lines(row)
    return writing_back.lines_of(spec)
