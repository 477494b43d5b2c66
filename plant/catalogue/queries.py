"""What is in force: parts, routes, mixes, recipes, bands and settings at a moment."""

from __future__ import annotations

from datetime import datetime

from plant.codes import fold
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
    RouteRevision,
    RulebookRevision,
    Tank,
)


def part_by_number(number: str) -> Part:
    """Part by its number. Refuses ``unknown``."""
    part = remembered(("part", fold(number)), Part.objects.filter(number=fold(number)).first)
    if part is None:
        raise Refused("unknown", "No part is called %(part)s here. Look again, or ask the engineer.", part=fold(number))
    return part


def part_revision(part: Part, at: datetime) -> PartRevision:
    """Revision of a part in force. Refuses ``unknown``."""
    revision = PartRevision.objects.filter(part=part).in_force(at).first()
    # What happened before the works was opened on paper still needs a revision: the oldest serves.
    revision = revision or PartRevision.objects.filter(part=part, proposal__approval__isnull=False).first()
    if revision is None:
        raise Refused("unknown", "%(part)s has no approved revision. Ask the engineer.", part=part.number)
    return revision


def route_of(part: Part, at: datetime) -> list[Operation]:
    """Operations of a part's route in force, in order; empty where it has none."""
    return remembered(("route", part.pk, at), lambda: _route_of(part, at))


def _route_of(part: Part, at: datetime) -> list[Operation]:
    routes = RouteRevision.objects.filter(part=part)
    route = routes.in_force(at).first() or routes.filter(proposal__approval__isnull=False).order_by("pk").first()
    return list(Operation.objects.filter(route_revision=route).order_by("n")) if route else []


def mix_in_force(mix: str, at: datetime) -> MixRevision:
    """Mix by its name. Refuses ``unknown``."""
    mixes = MixRevision.objects.filter(mix=mix).select_related("part")
    found = mixes.in_force(at).first() or mixes.filter(proposal__approval__isnull=False).order_by("pk").first()
    if found is None:
        raise Refused("unknown", "No mix is called %(mix)s here. Choose one from the list.", mix=mix)
    return found


def tank_by_code(code: str) -> Tank:
    """Tank or bin by its code. Refuses ``unknown``."""
    tank = Tank.objects.select_related("part").filter(code=fold(code)).first()
    if tank is None:
        raise Refused("unknown", "No tank or bin is called %(tank)s here. Look again.", tank=fold(code))
    return tank


def recipe_in_force(recipe: str, at: datetime, revision: str = "") -> RecipeRevision:
    """Recipe by its code, the named revision or the one in force. Refuses ``unknown``."""
    recipes = RecipeRevision.objects.filter(recipe=fold(recipe))
    found = recipes.filter(revision=revision).first() if revision else recipes.in_force(at).first()
    if found is None:
        raise Refused("unknown", "No recipe %(recipe)s is in force. Look again.", recipe=fold(recipe))
    return found


def characteristic_of(part: Part, name: str) -> Characteristic:
    """Characteristic of a part by name. Refuses ``unknown``, or ``wrong-kind`` where it belongs to another part."""
    found = Characteristic.objects.filter(part=part, name=name).first()
    if found is None and Characteristic.objects.filter(name=name).exists():
        raise Refused("wrong-kind", "%(name)s is not measured on %(part)s.", name=name, part=part.number)
    if found is None:
        raise Refused("unknown", "Nothing is measured under the name %(name)s. Choose one from the list.", name=name)
    return found


def band_in_force(characteristic: Characteristic, at: datetime) -> CharacteristicRevision:
    """Band of a characteristic in force. Refuses ``unknown``."""
    bands = CharacteristicRevision.objects.filter(characteristic=characteristic)
    found = bands.in_force(at).first() or bands.filter(proposal__approval__isnull=False).order_by("pk").first()
    if found is None:
        raise Refused("unknown", "%(name)s has no approved band. Ask the engineer.", name=characteristic.name)
    return found


def rulebook_in_force(at: datetime) -> RulebookRevision | None:
    """Settings of the works in force."""
    return remembered(("rulebook", at), RulebookRevision.objects.in_force(at).first)


def hold_scope(cause: str, at: datetime) -> int:
    """What a hold by this cause stops; 0 where the cause does not hold by itself."""
    rule = HoldRule.objects.filter(rulebook=rulebook_in_force(at), cause=cause).first()
    return rule.scope if rule else 0


def cut_off_ppb(at: datetime) -> int | None:
    """Smallest share that is listed; none until the works sets one."""
    rulebook = rulebook_in_force(at)
    return rulebook.cut_off_ppb if rulebook else None
