"""Runs judged against a recipe: pure sums on recorder files as read."""

from .assess import assess_log
from .channels import RoleUnknown
from .features import FEATURES, ROLES, Feature, FeatureUnit
from .recipe import Recipe, Rule, Verdict, worst
from .results import Assessment, Check, Leak, Phase, ProbeFault

__all__ = [
    "FEATURES",
    "ROLES",
    "Assessment",
    "Check",
    "Feature",
    "FeatureUnit",
    "Leak",
    "Phase",
    "ProbeFault",
    "Recipe",
    "RoleUnknown",
    "Rule",
    "Verdict",
    "assess_log",
    "worst",
]
