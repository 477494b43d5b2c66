"""The revisions that a unit was made and judged under: drawing, route, mix, recipe, band."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from plant.catalogue.models import CharacteristicRevision, MixRevision, Part, RecipeRevision, Revision, RouteRevision
from plant.people.letterhead import at_works
from records.inspection.showing import band_shown
from records.items.models import Item
from records.ledger.marks import Mark

from .unit import revision_words

_RELATED = ("proposal__approval__approver__name_words", "proposal__approval__proposer__name_words")


@dataclass(frozen=True)
class RevisionTold:
    """One revision: of what, which, since when, approved by whom."""

    what: str
    name: str
    revision: str
    since: str
    by: str


@dataclass(frozen=True)
class Under:
    """What to look up: things made, recipes that runs were judged under, bands that measures were judged under."""

    items: Iterable[int]
    recipes: Iterable[RecipeRevision]
    bands: Iterable[CharacteristicRevision]


def revisions_under(under: Under, mark: Mark) -> list[RevisionTold]:
    """Each revision once; a fixed number of queries."""
    rows = Item.objects.filter(pk__in=list(under.items)).order_by("pk")
    items = list(rows.select_related("revision__part", *(f"revision__{name}" for name in _RELATED)))
    found = [_told("Part", _part_name(item.part), item.revision, revision_words(item.revision)) for item in items]
    found += _at_birth("Route", RouteRevision.objects.known(mark), [i for i in items if i.kind == Part.Tracked.UNIT])
    pots = [i for i in items if i.part.kind in (Part.Kind.RESIN_MIX, Part.Kind.ADHESIVE_MIX)]
    found += _at_birth("Mix", MixRevision.objects.known(mark), pots)
    found += [_told("Recipe", recipe.recipe, recipe) for recipe in under.recipes]
    numbers = {band.pk for band in under.bands}
    bands = CharacteristicRevision.objects.filter(pk__in=numbers).select_related("characteristic__part", *_RELATED)
    found += [
        _told("Band", f"{b.characteristic.part.number} {b.characteristic.name}: {band_shown(b)}", b) for b in bands
    ]
    order = ["Part", "Route", "Mix", "Recipe", "Band"]
    return sorted(dict.fromkeys(found), key=lambda one: (order.index(one.what), one.name, one.revision, one.since))


def _at_birth(what: str, rows: object, items: list[Item]) -> list[RevisionTold]:
    """The revision that was in force for each item when it was made; the oldest for what is older than the works."""
    parts = {item.part.pk for item in items}
    approved = rows.filter(part__in=parts, proposal__approval__isnull=False)  # type: ignore[attr-defined]
    revisions = list(approved.select_related("part", *_RELATED).order_by("proposal__approval__in_force_from", "pk"))
    found = []
    for item in items:
        of_part = [revision for revision in revisions if revision.part_id == item.part.pk]
        born = [r for r in of_part if r.proposal.approval.in_force_from <= item.born_at]
        found += [_told(what, _name_of(r), r) for r in (born[-1:] or of_part[:1])]
    return found


def _name_of(revision: Revision) -> str:
    return getattr(revision, "mix", "") or _part_name(revision.part)  # type: ignore[attr-defined]


def _part_name(part: Part) -> str:
    return " ".join(word for word in (part.number, part.name) if word)


def _told(what: str, name: str, revision: Revision, words: str = "") -> RevisionTold:
    approval = getattr(revision.proposal, "approval", None)
    since = at_works(approval.in_force_from) if approval else "not approved"
    by = approval.approver.name if approval and approval.approver else "at the opening of the works"
    return RevisionTold(what, name, words or f"revision {revision.revision}", since, by if approval else "")
