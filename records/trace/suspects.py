"""What bad units have in common: traits ranked by how unlikely their share of bad ones is by chance.

A small chance is a lead, never a cause: traits used in the same week light up together, and looking at many traits
finds some by luck. Which units a recall must find is told by their links, never by this.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from fractions import Fraction
from math import comb, exp, log, sqrt
from typing import Generic, TypeVar

Unit = TypeVar("Unit", bound=Hashable)
Trait = TypeVar("Trait", bound=Hashable)

# Half the width of a two-sided 95 % interval of the normal distribution, six decimals.
TWO_SIDED_95 = 1.959964


@dataclass(frozen=True)
class Odds:
    """Odds of being bad with the trait over those without it, with a 95 % interval. [-]"""

    ratio: float
    low: float
    high: float


@dataclass(frozen=True)
class Suspect(Generic[Trait]):
    """A trait of units, how it lies among good and bad ones, and the chance of that."""

    trait: Trait
    bad_with: int
    bad_without: int
    good_with: int
    good_without: int
    chance: Fraction
    adjusted: float
    odds: Odds

    @property
    def p(self) -> float:
        """Chance of this many bad ones or more with the trait. [-]"""
        return float(self.chance)

    @property
    def counts(self) -> tuple[int, int, int, int]:
        """Bad with, bad without, good with, good without."""
        return self.bad_with, self.bad_without, self.good_with, self.good_without


def rank_suspects(
    traits_of: Mapping[Unit, AbstractSet[Trait]], *, bad: AbstractSet[Unit]
) -> tuple[Suspect[Trait], ...]:
    """Traits of the units of a field, the least likely by chance first; equal chance by name.

    Parameters
    ----------
    traits_of : mapping of unit to set of traits
        Every unit of the field, good and bad, with the lots, tools and people that it has.
    bad : set of units
        Those that failed; each is in the field.

    Returns
    -------
    tuple of Suspect
        ``adjusted`` is the chance after Benjamini and Hochberg for as many traits as are ranked. [-]

    Notes
    -----
    Chances are exact fractions, so that a tie is a tie and no rounding breaks it.

    References
    ----------
    .. [1] R. A. Fisher, "The logic of inductive inference", JRSS 98 (1935), exact test, one-sided (from memory).
    .. [2] Y. Benjamini and Y. Hochberg, "Controlling the false discovery rate", JRSS B 57 (1995) 289-300.

    Examples
    --------
    >>> field = {"F1": {"R1"}, "F2": {"R1"}, "F3": {"R1"}, "F4": {"R2"}}
    >>> [(s.trait, s.p, s.counts) for s in rank_suspects(field, bad={"F1", "F2", "F3"})]
    [('R1', 0.25, (3, 0, 0, 1)), ('R2', 1.0, (0, 3, 1, 0))]
    """
    strangers = [unit for unit in bad if unit not in traits_of]
    if strangers:
        raise ValueError(f"each bad unit must be in the field, got {sorted(map(str, strangers))}")
    units_with: dict[Trait, int] = {}
    bad_with: dict[Trait, int] = {}
    for unit, traits in traits_of.items():
        for trait in traits:
            units_with[trait] = units_with.get(trait, 0) + 1
            bad_with[trait] = bad_with.get(trait, 0) + (unit in bad)
    tables = {
        trait: (bad_with[trait], len(bad) - bad_with[trait], count - bad_with[trait])
        for trait, count in units_with.items()
    }
    size = len(traits_of)
    full = {trait: (*table, size - sum(table)) for trait, table in tables.items()}
    chances = {trait: chance_of_as_many(*table) for trait, table in full.items()}
    order = sorted(full, key=lambda trait: (chances[trait], str(trait)))
    adjusted = false_discovery([chances[trait] for trait in order])
    return tuple(
        Suspect(trait, *full[trait], chances[trait], fdr, odds_ratio(*full[trait]))
        for trait, fdr in zip(order, adjusted, strict=True)
    )


def tied_first(suspects: Sequence[Suspect[Trait]]) -> tuple[Suspect[Trait], ...]:
    """Those that share the smallest chance."""
    return tuple(suspect for suspect in suspects if suspect.chance == suspects[0].chance)


def chance_of_as_many(bad_with: int, bad_without: int, good_with: int, good_without: int) -> Fraction:
    """Chance of ``bad_with`` bad ones or more with the trait, all four margins given: one-sided Fisher. [-]

    Examples
    --------
    >>> round(float(chance_of_as_many(3, 1, 1, 3)), 4)
    0.2429
    """
    if min(bad_with, bad_without, good_with, good_without) < 0:
        raise ValueError(f"counts must be 0 or more, got {(bad_with, bad_without, good_with, good_without)}")
    bad, good, having = bad_with + bad_without, good_with + good_without, bad_with + good_with
    ways = 0
    term = comb(bad, bad_with) * comb(good, having - bad_with)
    for k in range(bad_with, min(bad, having) + 1):
        ways += term
        # The next number of ways from this one: far quicker than two new binomials where the field is large.
        term = term * (bad - k) * (having - k) // ((k + 1) * (good - having + k + 1))
    return Fraction(ways, comb(bad + good, having))


def odds_ratio(bad_with: int, bad_without: int, good_with: int, good_without: int) -> Odds:
    """Odds ratio with a half added to each count, so that an empty cell gives a number. [-]

    Notes
    -----
    Interval exp(ln ratio -+ 1.96 sqrt(sum of 1 / cell)).

    References
    ----------
    .. [1] Haldane 1956 and Anscombe 1956 (from memory).
    """
    cells = [count + 0.5 for count in (bad_with, bad_without, good_with, good_without)]
    middle = log(cells[0]) - log(cells[1]) - log(cells[2]) + log(cells[3])
    reach = TWO_SIDED_95 * sqrt(sum(1 / cell for cell in cells))
    return Odds(exp(middle), exp(middle - reach), exp(middle + reach))


def false_discovery(chances: Sequence[Fraction]) -> list[float]:
    """Adjusted chances of a rising row: least of m p / rank from each rank on, at most 1. [-]"""
    least = Fraction(1)
    adjusted: list[float] = []
    for rank in range(len(chances), 0, -1):
        least = min(least, chances[rank - 1] * len(chances) / rank)
        adjusted.append(float(least))
    return adjusted[::-1]
