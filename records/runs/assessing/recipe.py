"""A recipe as it is judged by: typed rules in plain units, and the verdict on one value against one band."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from .features import FEATURES, SOAK_FEATURES, Feature

# Results are compared as rounded to this many decimals of their unit, so that a length worked out from
# times in floating point is not called too short by its last bit. On a limit is inside.
_DECIMALS = 6


class Verdict(StrEnum):
    """What a check says, from best to worst as they count."""

    WITHIN = "within"
    NEAR_EDGE = "near-edge"
    NOT_SHOWN = "not-shown"
    OUTSIDE = "outside"


_ORDER = list(Verdict)


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The verdict that counts: outside before not shown before near edge; not shown when there is none."""
    return max(verdicts, key=_ORDER.index, default=Verdict.NOT_SHOWN)


@dataclass(frozen=True)
class Rule:
    """One limit of a recipe: a feature of the curve and where it must lie.

    ``lower``, ``upper`` and ``edge`` are in the unit of the feature, ``level`` in its level's unit. ``role`` picks the
    channels, by default those of the feature. ``edge`` is the distance to a limit from which a value is near the edge;
    without it the last tenth of the band, and for a single limit what the feature says. ``words`` name the rule.
    """

    feature: Feature
    level: float | None = None
    lower: float | None = None
    upper: float | None = None
    role: str = ""
    edge: float | None = None
    words: str = ""

    @property
    def name(self) -> str:
        """The rule in words."""
        return self.words or FEATURES[self.feature].words

    @property
    def unit(self) -> str:
        """Unit of the limits and of the result."""
        return FEATURES[self.feature].unit

    def edge_width(self) -> float:
        """Distance to a limit from which a value is near the edge. [unit]"""
        if self.edge is not None:
            return self.edge
        if self.lower is not None and self.upper is not None:
            return (self.upper - self.lower) / 10
        limit = self.lower if self.lower is not None else self.upper
        known = FEATURES[self.feature]
        return abs(limit or 0.0) * known.edge if known.edge_is_share else known.edge

    def verdict(self, got: float | None) -> Verdict:
        """Where a value lies; None is not shown."""
        if got is None:
            return Verdict.NOT_SHOWN
        value = round(got, _DECIMALS)
        if (self.lower is not None and value < round(self.lower, _DECIMALS)) or (
            self.upper is not None and value > round(self.upper, _DECIMALS)
        ):
            return Verdict.OUTSIDE
        edge = self.edge_width()
        is_near = (self.lower is not None and value < round(self.lower + edge, _DECIMALS)) or (
            self.upper is not None and value > round(self.upper - edge, _DECIMALS)
        )
        return Verdict.NEAR_EDGE if is_near else Verdict.WITHIN


@dataclass(frozen=True)
class Recipe:
    """The limits that a run is judged against, one revision of them.

    ``volume_l`` is the measured volume that the valve shuts in; without it a leak is told as a rate of pressure only.
    [l] ``longest_gap_min`` is the gap over which nothing is taken as shown (common practice, no source). [min]
    """

    code: str
    revision: str
    rules: tuple[Rule, ...]
    volume_l: float | None = None
    longest_gap_min: float = 5.0

    def with_levels(self) -> Recipe:
        """The same recipe with the level of the soak in every rule on the soak that names none."""
        levels = [rule.level for rule in self.rules if rule.feature in SOAK_FEATURES and rule.level is not None]
        if not levels:
            return self
        rules = (
            replace(rule, level=levels[0]) if rule.feature in SOAK_FEATURES and rule.level is None else rule
            for rule in self.rules
        )
        return replace(self, rules=tuple(rules))
