"""The set-up in force at a moment, as lists; a fixed number of queries whatever their length."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from .models import (
    CharacteristicRevision,
    HoldRule,
    MixRevision,
    PartRevision,
    Proposal,
    RecipeRevision,
    Revision,
    RouteRevision,
    RulebookRevision,
)
from .queries import rulebook_in_force

Row = TypeVar("Row", bound=Revision)
RELATED = ("proposal__approval__approver__name_words", "proposal__approval__proposer__name_words")


def _newest(rows: Iterable[Row], thing: Callable[[Row], Hashable]) -> list[Row]:
    """The first row of each thing; the rows come with the latest in force first."""
    found: dict[Hashable, Row] = {}
    for row in rows:
        found.setdefault(thing(row), row)
    return list(found.values())


def parts(at: datetime) -> list[PartRevision]:
    """Parts with their revision in force, by number."""
    rows = PartRevision.objects.in_force(at).select_related("part", *RELATED).prefetch_related("certificate_limits")
    return sorted(_newest(rows, lambda row: row.part_id), key=lambda row: row.part.number)


def bands(at: datetime) -> list[CharacteristicRevision]:
    """Bands in force, by part and name."""
    rows = CharacteristicRevision.objects.in_force(at).select_related("characteristic__part", *RELATED)
    found = _newest(rows, lambda row: row.characteristic_id)
    return sorted(found, key=lambda row: (row.characteristic.part.number, row.characteristic.name))


def routes(at: datetime) -> list[RouteRevision]:
    """Routes in force with their operations and what those ask for, by part."""
    rows = RouteRevision.objects.in_force(at).select_related("part", *RELATED)
    rows = rows.prefetch_related("operations__inputs__part", "operations__readings", "operations__asks")
    return sorted(_newest(rows, lambda row: row.part_id), key=lambda row: row.part.number)


def recipes(at: datetime) -> list[RecipeRevision]:
    """Recipes in force with their rules, by code."""
    rows = RecipeRevision.objects.in_force(at).select_related(*RELATED).prefetch_related("rules")
    return sorted(_newest(rows, lambda row: row.recipe), key=lambda row: row.recipe)


def mixes(at: datetime) -> list[MixRevision]:
    """Mixes in force with their components, by name."""
    rows = MixRevision.objects.in_force(at).select_related("part", *RELATED).prefetch_related("components__part")
    return sorted(_newest(rows, lambda row: row.mix), key=lambda row: row.mix)


@dataclass(frozen=True)
class Settings:
    """The works' settings in force: the share cut-off, and what holds by itself."""

    revision: RulebookRevision | None
    rules: list[HoldRule]


def settings_of_works(at: datetime) -> Settings:
    """Settings in force, each cause of an automatic hold with what it stops."""
    revision = rulebook_in_force(at)
    return Settings(revision, list(HoldRule.objects.filter(rulebook=revision).order_by("cause")) if revision else [])


def proposals_waiting() -> list[Proposal]:
    """Changes put forward and not approved yet, the oldest first."""
    rows = Proposal.objects.filter(approval=None).select_related("reason", "entry__by__name_words")
    return list(rows.order_by("pk"))


REVISIONS: tuple[tuple[type[Revision], str], ...] = (
    (PartRevision, "part"),
    (CharacteristicRevision, "band"),
    (RouteRevision, "route"),
    (RecipeRevision, "recipe"),
    (MixRevision, "mix"),
    (RulebookRevision, "settings"),
)


def revisions_of(proposal: Proposal) -> list[tuple[str, Revision]]:
    """What a proposal would bring into force, each with the kind of thing that it is."""
    return [(kind, row) for model, kind in REVISIONS for row in model._default_manager.filter(proposal=proposal)]
