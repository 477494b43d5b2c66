"""Recipes as they are stored, in whole steps, and as a curve is judged by them, in plain units."""

from __future__ import annotations

from plant.catalogue.models import RecipeRevision, RecipeRule
from plant.quantities import CELSIUS_OFFSET_MK, UNITS
from records.ledger.memory import remembered

from .assessing.features import FEATURES, Feature
from .assessing.recipe import Recipe, Rule


def recipe_of(revision: RecipeRevision) -> Recipe:
    """The rules of a recipe revision in plain units."""
    rules = tuple(rule_of(rule) for rule in rules_of(revision))
    return Recipe(revision.recipe, revision.revision, rules)


def rules_of(revision: RecipeRevision) -> list[RecipeRule]:
    """Stored rules in the order that they were stated."""
    rules = RecipeRule.objects.order_by("pk")
    return remembered((RecipeRule, revision), lambda: list(rules.filter(recipe_revision=revision)))


def rule_of(rule: RecipeRule) -> Rule:
    """One stored rule in plain units."""
    feature = Feature(rule.feature)
    known = FEATURES[feature]
    level = None
    if rule.level is not None and known.level_unit is not None and known.level_kind is not None:
        level = plain(rule.level, known.level_unit, known.level_kind)
    return Rule(
        feature,
        level=level,
        lower=None if rule.lower is None else bound_of(feature, rule.lower),
        upper=None if rule.upper is None else bound_of(feature, rule.upper),
        role=rule.role,
    )


def bound_of(feature: Feature, steps: int) -> float:
    """A stored limit or result of a feature in its unit; a rate is stored as its change in one minute."""
    known = FEATURES[feature]
    return plain(steps, known.unit.removesuffix("/min"), known.unit_kind, difference=known.difference)


def steps_of_result(feature: Feature, got: float) -> int:
    """A result in whole steps, as it is stored."""
    known = FEATURES[feature]
    unit = known.unit.removesuffix("/min")
    steps = round(got * UNITS[known.unit_kind][unit])
    is_point = known.unit_kind == "temperature" and unit != "K" and not known.difference
    return steps + CELSIUS_OFFSET_MK if is_point else steps


def plain(steps: int, unit: str, unit_kind: str, *, difference: bool = False) -> float:
    """Whole steps in a unit."""
    if unit_kind == "temperature" and unit != "K" and not difference:
        steps -= CELSIUS_OFFSET_MK
    return steps / UNITS[unit_kind][unit]
