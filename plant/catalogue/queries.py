"""What is in force: parts, routes, mixes, recipes, bands and settings at a moment."""

from __future__ import annotations

from collections.abc import Hashable
from datetime import datetime
from typing import Any

from django.db.models import F

from plant.codes import fold
from records.ledger.asking import Asking
from records.ledger.memory import remembered
from records.ledger.refusals import Refused

from .models import (
    Characteristic,
    CharacteristicRevision,
    HoldRule,
    MixRevision,
    Operation,
    Part,
    PartRevision,
    RecipeRevision,
    Revision,
    RouteRevision,
    RulebookRevision,
    Tank,
)


def _approved(model: type[Revision], **of: Hashable) -> list[Any]:
    """Approved revisions of one thing with the moment ``since`` which each is in force, in that order."""

    def look_up() -> list[Any]:
        rows = model.objects.filter(proposal__approval__isnull=False, **of)
        return list(rows.annotate(since=F("proposal__approval__in_force_from")).order_by("since", "pk"))

    return remembered((model, *of.values()), look_up)


def _in_force(model: type[Revision], at: datetime, **of: Hashable) -> Any:
    """Revision of one thing in force at a moment."""
    return next((revision for revision in reversed(_approved(model, **of)) if revision.since <= at), None)


def _in_force_or_first(model: type[Revision], at: datetime, **of: Hashable) -> Any:
    """Revision in force. What happened before the works was opened on paper still needs one: the oldest serves."""
    return _in_force(model, at, **of) or min(_approved(model, **of), key=lambda revision: revision.pk, default=None)


def part_by_number(number: str) -> Part:
    """Part by its number. Refuses ``unknown``."""
    part = remembered((Part, fold(number)), lambda: Part.objects.filter(number=fold(number)).first())
    if part is None:
        raise Refused("unknown", "No part is called %(part)s here. Look again, or ask the engineer.", part=fold(number))
    return part


def part_revision(part: Part, at: datetime) -> PartRevision:
    """Revision of a part in force. Refuses ``unknown``."""
    revision = _in_force_or_first(PartRevision, at, part=part)
    if revision is None:
        raise Refused("unknown", "%(part)s has no approved revision. Ask the engineer.", part=part.number)
    return revision


def route_of(part: Part, at: datetime) -> list[Operation]:
    """Operations of a part's route in force, in order; empty where it has none."""
    route = _in_force_or_first(RouteRevision, at, part=part)
    if route is None:
        return []
    operations = Operation.objects.select_related("lapse", "rest", "carrier").order_by("n")
    return remembered((Operation, route), lambda: list(operations.filter(route_revision=route)))


def good_for_ms(operation: Operation) -> int:
    """How long it holds what an operation shows; nought where it does not lapse. [ms]"""
    lapse = getattr(operation, "lapse", None)
    return lapse.good_for_ms if lapse else 0


def rest_ms(operation: Operation) -> int:
    """How long a unit rests after an operation, at least; nought where the next one may follow at once. [ms]"""
    rest = getattr(operation, "rest", None)
    return rest.least_ms if rest else 0


def carrier_from(operation: Operation) -> str:
    """What holds a unit's identity from an operation on; empty where it stays as it was."""
    carrier = getattr(operation, "carrier", None)
    return carrier.kind if carrier else ""


def mix_in_force(mix: str, at: datetime) -> MixRevision:
    """Mix by its name. Refuses ``unknown``."""
    found = _in_force_or_first(MixRevision, at, mix=mix)
    if found is None:
        raise Refused("unknown", "No mix is called %(mix)s here. Choose one from the list.", mix=mix)
    return found


def mix_names() -> list[str]:
    """Names of the mixes that are approved."""
    approved = MixRevision.objects.filter(proposal__approval__isnull=False)
    return sorted(set(approved.values_list("mix", flat=True)))


def tank_by_code(code: str) -> Tank:
    """Tank or bin by its code. Refuses ``unknown``."""
    tank = Tank.objects.select_related("part").filter(code=fold(code)).first()
    if tank is None:
        raise Refused("unknown", "No tank or bin is called %(tank)s here. Look again.", tank=fold(code))
    return tank


def recipe_in_force(recipe: str, at: datetime, revision: str = "") -> RecipeRevision:
    """Recipe by its code, the named revision or the one in force. Refuses ``unknown``."""
    if revision:
        found = RecipeRevision.objects.filter(recipe=fold(recipe), revision=revision).first()
    else:
        found = _in_force(RecipeRevision, at, recipe=fold(recipe))
    if found is None:
        raise Refused("unknown", "No recipe %(recipe)s is in force. Look again.", recipe=fold(recipe))
    return found


def characteristic_of(part: Part, name: str) -> Characteristic:
    """Characteristic of a part by name. Refuses ``unknown``, or ``wrong-kind`` where it belongs to another part."""
    of_part = Characteristic.objects.filter
    found = remembered((Characteristic, part, name), lambda: of_part(part=part, name=name).first())
    if found is None and Characteristic.objects.filter(name=name).exists():
        raise Refused("wrong-kind", "%(name)s is not measured on %(part)s.", name=name, part=part.number)
    if found is None:
        raise Refused("unknown", "Nothing is measured under the name %(name)s. Choose one from the list.", name=name)
    return found


def band_in_force(characteristic: Characteristic, at: datetime) -> CharacteristicRevision:
    """Band of a characteristic in force. Refuses ``unknown``."""
    found = _in_force_or_first(CharacteristicRevision, at, characteristic=characteristic)
    if found is None:
        raise Refused("unknown", "%(name)s has no approved band. Ask the engineer.", name=characteristic.name)
    return found


def rulebook_in_force(at: datetime) -> RulebookRevision | None:
    """Settings of the works in force."""
    return _in_force(RulebookRevision, at)


def hold_scope(cause: str, at: datetime) -> int:
    """What a hold by this cause stops; 0 where the cause does not hold by itself."""
    rulebook = rulebook_in_force(at)
    rules = HoldRule.objects.values_list("cause", "scope")
    return remembered((HoldRule, rulebook), lambda: dict(rules.filter(rulebook=rulebook))).get(cause, 0)


def cut_off_ppb(at: datetime) -> int | None:
    """Smallest share that is listed; none until the works sets one."""
    return next((share for (share,) in _CUT_OFF.rows(at=at)), None)


_CUT_OFF = Asking(
    lambda _, at: (
        RulebookRevision.objects.filter(proposal__approval__in_force_from__lte=at)
        .order_by("-proposal__approval__in_force_from", "-pk")
        .values_list("cut_off_ppb")[:1]
    )
)
