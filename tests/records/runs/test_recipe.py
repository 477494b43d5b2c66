"""Rules of a recipe: where a value lies in a band, near its edge or on its limit, and which verdict counts."""

import pytest

from plant.quantities import KINDS, UNITS
from records.runs.assessing import FEATURES, ROLES, Feature, Rule, Verdict, worst

BAND = Rule(Feature.SOAK_HOTTEST, lower=75, upper=85)


@pytest.mark.parametrize(
    ("got", "verdict"),
    [(74.9, "outside"), (75, "near-edge"), (75.99, "near-edge"), (76, "within"), (80, "within"), (84, "within"),
     (84.01, "near-edge"), (85, "near-edge"), (85.1, "outside"), (None, "not-shown")],
)  # fmt: skip
def test_the_last_tenth_of_a_band_is_near_its_edge_and_a_limit_is_inside(got, verdict):
    assert BAND.verdict(got).value == verdict


def test_a_rule_may_say_its_own_edge():
    assert Rule(Feature.SOAK_HOTTEST, upper=85, edge=5).verdict(81) is Verdict.NEAR_EDGE
    assert Rule(Feature.SOAK_HOTTEST, upper=85, edge=0).verdict(85) is Verdict.WITHIN


def test_the_last_bit_of_a_sum_puts_nothing_outside():
    assert Rule(Feature.SOAK_COLDEST, lower=0.3, edge=0).verdict(0.1 + 0.2 - 1e-16) is Verdict.WITHIN


@pytest.mark.parametrize(
    ("verdicts", "counts"),
    [
        ([Verdict.WITHIN, Verdict.NEAR_EDGE], Verdict.NEAR_EDGE),
        ([Verdict.NEAR_EDGE, Verdict.NOT_SHOWN], Verdict.NOT_SHOWN),
        ([Verdict.NOT_SHOWN, Verdict.OUTSIDE, Verdict.WITHIN], Verdict.OUTSIDE),
        ([], Verdict.NOT_SHOWN),
    ],
)
def test_the_worst_counts_outside_before_not_shown(verdicts, counts):
    assert worst(verdicts) is counts


def test_every_feature_has_a_unit_that_can_be_stored_and_a_role_that_is_known():
    assert set(FEATURES) == set(Feature)
    for feature, known in FEATURES.items():
        assert known.unit_kind in KINDS, feature
        assert known.unit.removesuffix("/min") in UNITS[known.unit_kind], feature
        assert known.role in ("", *ROLES), feature
        assert (known.level_unit is None) == (known.level_kind is None), feature
