"""A whole study: charts, signals, spread, indices and cautions together."""

import pytest

from records.ledger.refusals import Refused
from records.spc.capability import Band
from records.spc.rules import OUTSIDE_LIMITS
from records.spc.study import Terms, study_individuals, study_subgroups
from tests.records.spc.published import colours, flowrates, rings

# 24 readings that alternate around 10, all inside their limits, no run.
STEADY = [10.0, 10.3, 9.8, 10.1, 9.7, 10.2] * 4


def places(values):
    """A name for each value."""
    return [str(number) for number in range(1, len(values) + 1)]


def study(values, *, step=0.1, **terms):
    """Study of single values."""
    return study_individuals(values, places(values), step=step, terms=Terms(**terms))


def kinds(found):
    """Kinds of the cautions of a study."""
    return [caution.kind for caution in found.cautions]


def test_the_handbooks_flow_rates_raise_nothing_and_are_trial_limits():
    """NIST/SEMATECH e-Handbook 6.3.2.2: no point outside."""
    found = study(flowrates())
    assert (found.has_signal, found.trial, kinds(found)) == (False, True, ["trial-limits"])


def test_the_rings_are_steady():
    """Montgomery, Table 6.3: no signal (from memory)."""
    found = study_subgroups(rings(), places(rings()), step=0.001, terms=Terms(Band(73.95, 74.05)))
    assert (found.has_signal, found.trial, found.subgroups, found.n) == (False, False, 25, 125)
    assert found.indices.shown


def test_no_colour_is_outside_its_limits():
    found = study(colours(), step=1.0, rules=(OUTSIDE_LIMITS,))
    assert [chart.signals for chart in found.charts] == [(), ()]


def test_readings_too_coarse_warn_and_raise_no_signal():
    """18 times 41.0, 41.1 at places 6 and 14: limits 40.954 to 41.066, both outside, yet nothing happened."""
    found = study([41.1 if n in (6, 14) else 41.0 for n in range(1, 21)], band=Band(40.9, 41.2))
    limits = found.charts[0].limits
    assert (limits.lower, limits.upper) == pytest.approx((40.954, 41.066), abs=5e-4)
    assert (found.has_signal, kinds(found), found.indices.shown) == (False, ["coarse-gauge"], False)
    for told in ("2 different values", "15 of 19 ranges zero", "outside the limits: 6, 14"):
        assert told in found.cautions[0].words


def test_a_finer_step_raises_the_same_points():
    found = study([41.1 if n in (6, 14) else 41.0 for n in range(1, 21)], step=0.001)
    assert [signal.at for signal in found.charts[0].signals] == [5, 13]


def test_averages_that_drift_are_told():
    """Three subgroups of two: the spread inside is a fifth of that of all readings."""
    subgroups = [[10.00, 10.01], [10.05, 10.06], [10.10, 10.11]]
    found = study_subgroups(subgroups, places(subgroups), step=0.01, terms=Terms(Band(9.9, 10.3)))
    assert "averages-drift" in kinds(found)
    assert (found.indices.cpk, found.indices.ppk) == (None, pytest.approx(1.15, abs=0.005))


def test_frozen_limits_never_move_with_later_points():
    whole = study([*STEADY, 13.0, 13.1, 12.9], freeze=24)
    alone = study(STEADY)
    assert whole.charts[0].limits == alone.charts[0].limits
    assert whole.within == alone.within
    assert [signal.at for signal in whole.charts[0].signals] == [24, 25, 26]


def test_later_points_count_in_the_spread_of_all_readings():
    assert study([*STEADY, 13.0, 13.1, 12.9], freeze=24).overall > study(STEADY).overall


def test_frozen_limits_count_readings_and_not_empty_places():
    with_gap = study([10.0, None, 10.3, 9.8, 10.1, 9.7, 10.2], freeze=3)
    assert with_gap.charts[0].limits.centre == pytest.approx((10.0 + 10.3 + 9.8) / 3)


@pytest.mark.parametrize("freeze", [0, 1, 25, -3])
def test_limits_cannot_be_frozen_from_more_points_than_there_are(freeze):
    with pytest.raises(Refused, match="from 2 to 24 points"):
        study(STEADY, freeze=freeze)


def test_a_missing_reading_keeps_its_place_on_both_charts():
    found = study([10.0, 10.2, None, 10.1, 10.3])
    assert found.charts[0].values == (10.0, 10.2, None, 10.1, 10.3)
    assert [value is None for value in found.charts[1].values] == [True, False, True, True, False]
    assert (found.n, found.missing) == (4, 1)


def test_a_moving_range_outside_its_limit_is_a_signal_of_that_chart():
    found = study([*STEADY, 13.0])
    assert [(s.rule, s.at) for s in found.charts[1].signals] == [("outside-limits", 24)]


def test_runs_of_ranges_mean_nothing():
    rising = [float(n) for n in range(20)]
    found = study(rising, step=1.0)
    assert found.charts[1].signals == ()


def test_limits_step_and_those_of_the_chart_are_for_the_mean_size():
    subgroups = [[1.0, 1.2, 1.1], [1.1, 1.3], [0.9, 1.2, 1.0, 1.1]]
    averages, ranges = study_subgroups(subgroups, places(subgroups), step=0.1).charts
    assert averages.steps
    assert averages.limits == averages.each[0]  # three readings: the mean size
    assert averages.each[1].upper > averages.limits.upper > averages.each[2].upper
    assert ranges.each[1].centre < ranges.limits.centre < ranges.each[2].centre


def test_a_subgroup_of_one_has_no_range_and_is_left_out():
    found = study_subgroups([[1.0, 1.2], [1.1], [1.3, 1.1]], ["a", "b", "c"], step=0.1)
    assert (found.charts[0].at, found.subgroups, found.n) == (("a", "c"), 2, 4)


@pytest.mark.parametrize("values", [[], [1.0], [None, 1.0], [1.0, None, 2.0]])
def test_too_few_readings_are_refused_with_words(values):
    with pytest.raises(Refused, match="at least 2 readings beside each other"):
        study(values)


def test_too_few_subgroups_are_refused_with_words():
    with pytest.raises(Refused, match="at least 2 subgroups"):
        study_subgroups([[1.0, 2.0], [1.0]], ["a", "b"], step=0.1)


def test_what_is_no_finite_number_is_a_wrong_call():
    with pytest.raises(ValueError, match="at place 1"):
        study([float("nan"), 1.0, 2.0])


def test_equal_readings_are_told_and_raise_nothing():
    found = study([5.0] * 25, band=Band(4, 6))
    assert (found.has_signal, kinds(found), found.indices.ppk) == (False, ["coarse-gauge"], None)


def test_readings_inside_steady_limits_show_their_capability_with_its_degrees_of_freedom():
    found = study(STEADY, band=Band(8, 12)).indices
    assert (found.shown, found.n) == (True, 24)
    assert found.df == pytest.approx(24 * 0.6, abs=0.5)
    assert found.cpk_least < found.cpk
