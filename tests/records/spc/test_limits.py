"""Control limits against worked examples; tolerances stand beside each value in the expected files."""

import numpy
import pytest

from records.spc.constants import mean_deviation
from records.spc.limits import (
    individuals_limits,
    limits_about,
    moving_ranges,
    overall_deviation,
    spread_of_moving_ranges,
    subgroup_limits,
)
from tests.records.spc.published import colours, expected, flowrates, is_as_published, measured, numbers, rings


def test_individuals_are_those_of_the_handbook():
    """NIST/SEMATECH e-Handbook 6.3.2.2; the divisor is the printed 1.128."""
    told = expected("02_imr_nist_6322")
    found = individuals_limits(flowrates())
    assert is_as_published(found.individuals.centre, told["mean"])
    assert is_as_published(found.moving_range.centre, told["mr_bar"])
    assert is_as_published(found.individuals.upper, told["ucl_x_d2_1.128"])
    assert is_as_published(found.individuals.lower, told["lcl_x_d2_1.128"])
    assert is_as_published(found.moving_range.upper, told["ucl_mr"])
    assert found.moving_range.lower == 0


def test_the_printed_divisor_stays_within_a_thousandth_of_the_width_of_the_exact_one():
    told = expected("02_imr_nist_6322")
    found = individuals_limits(flowrates()).individuals
    width = found.upper - found.lower
    assert abs(found.upper - told["ucl_x_exact_d2"]["value"]) < width / 1000


def test_whole_number_readings_with_ties_give_the_limits_worked_out_apart():
    """100 rubber colours; expected values to their six decimals."""
    told = measured("m05_integer_colour.csv")["individuals"]
    found = individuals_limits(colours())
    assert found.within.sigma == pytest.approx(told["sigma_MR"], abs=1e-6)
    assert (found.individuals.lower, found.individuals.upper) == pytest.approx((told["LCL"], told["UCL"]), abs=1e-6)


def test_averages_and_ranges_of_the_rings_are_the_textbooks():
    """Montgomery, Table 6.3: 74.001, 0.0232, 74.014, 73.988, 0.049."""
    told = expected("02_piston_rings_25x5")
    found = subgroup_limits(rings())
    averages, ranges = found.averages(5), found.ranges(5)
    for value, name in (
        (averages.centre, "grand_mean"),
        (averages.upper, "xbarR_ucl"),
        (averages.lower, "xbarR_lcl"),
        (ranges.centre, "r_bar"),
        (ranges.upper, "R_ucl"),
        (ranges.lower, "R_lcl"),
        (averages.centre, "grand_mean_full"),
        (averages.upper, "xbarR_ucl_full"),
        (averages.lower, "xbarR_lcl_full"),
        (ranges.centre, "r_bar_full"),
        (ranges.upper, "R_ucl_full"),
        (found.within.sigma, "sigma_Rbar_d2"),
    ):
        assert is_as_published(value, told[name]), name


def test_all_readings_of_the_rings_have_the_deviation_worked_out_apart():
    told = expected("02_piston_rings_25x5")["sigma_overall_n1"]
    assert is_as_published(overall_deviation([value for row in rings() for value in row]), told)


def test_unequal_subgroups_use_the_constant_of_each_size():
    """One missing part: the mean range over d2(3) would give 0.1378. Sum by hand from the table of constants."""
    found = subgroup_limits([[1.0, 1.2, 1.1], [1.1, 1.3], [0.9, 1.2, 1.0, 1.1]])
    assert found.within.sigma == pytest.approx((0.2 / 1.692569 + 0.2 / 1.128379 + 0.3 / 2.058751) / 3, abs=1e-6)
    assert found.within.sigma == pytest.approx(0.1470, abs=5e-5)


def test_limits_step_with_the_size_of_the_subgroup():
    found = subgroup_limits([[1.0, 1.2, 1.1], [1.1, 1.3], [0.9, 1.2, 1.0, 1.1]])
    assert found.averages(2).upper > found.averages(3).upper > found.averages(4).upper
    assert found.ranges(2).centre < found.ranges(3).centre


def test_no_moving_range_goes_over_an_empty_place():
    ranges = moving_ranges([4.0, 6.0, None, 5.0, 5.5])
    assert ranges == (None, 2.0, None, None, 0.5)


def test_a_gap_and_a_break_leave_only_the_ranges_worked_out_by_hand():
    told = expected("02_mr_with_breaks")
    values = [row[0] for row in numbers("02_mr_with_breaks", "x")]
    pieces = [moving_ranges(values[:3]), moving_ranges(values[3:])]
    found = [r for piece in pieces for r in piece if r is not None]
    assert found == pytest.approx(told["moving_ranges_valid"]["value"], abs=1e-9)
    # The file divides by the exact d2; a thousandth covers the printed one.
    assert spread_of_moving_ranges(pieces).sigma == pytest.approx(told["sigma_valid"]["value"], rel=1e-3)


def test_28_singles_are_worth_about_16_degrees_of_freedom():
    ranges = moving_ranges([float(n % 2) for n in range(28)])
    assert spread_of_moving_ranges([ranges]).df == pytest.approx(16.5, abs=0.5)


def test_many_singles_are_worth_six_tenths_of_a_degree_each():
    """Variance 0.826 sigma^2 / n for large n, so df -> n / (2 x 0.826): Cryer and Ryan 1990 (from memory)."""
    ranges = moving_ranges([float(n % 2) for n in range(20_000)])
    assert spread_of_moving_ranges([ranges]).df / 20_000 == pytest.approx(1 / (2 * 0.8264), rel=1e-3)


def test_two_readings_are_worth_one_degree_of_freedom():
    assert individuals_limits([1.0, 2.0]).within.df == pytest.approx(1)
    assert subgroup_limits([[1.0, 2.0]]).within.df == pytest.approx(1)


def test_degrees_of_freedom_are_those_that_simulated_charts_show():
    """The estimate over 20,000 made-up charts of 28 varies as a deviation of that many degrees of freedom does."""
    readings = numpy.random.default_rng(28).normal(size=(20_000, 28))
    estimates = abs(numpy.diff(readings, axis=1)).mean(axis=1)
    variation = estimates.std() / estimates.mean()
    c4 = mean_deviation(individuals_limits(list(readings[0])).within.df)
    assert variation == pytest.approx((1 - c4**2) ** 0.5 / c4, rel=0.02)


def test_gaps_cost_degrees_of_freedom_but_lone_ranges_count_more_each():
    whole = individuals_limits([1.0, 2.0] * 6).within.df
    with_gaps = individuals_limits([1.0, 2.0, None] * 6).within.df
    assert with_gaps < whole
    assert with_gaps == pytest.approx(6, abs=0.6)  # six independent ranges


def test_a_large_offset_keeps_the_digits_of_the_spread():
    """NIST Statistical Reference Datasets, NumAcc4: mean 10000000.2, deviation 0.1, both exact."""
    values = [10000000.2] + [10000000.1, 10000000.3] * 500
    told = measured("m03_large_offset_small_spread.dat")
    assert individuals_limits(values).individuals.centre == pytest.approx(told["mean"], abs=1e-8)
    assert individuals_limits(values).moving_range.centre == pytest.approx(told["average_moving_range"], abs=1e-8)
    assert overall_deviation(values) == pytest.approx(told["sd_n_minus_1"], abs=1e-8)


def test_a_deviation_divides_by_n_less_one():
    assert overall_deviation([10.0, 10.1, 10.2]) == pytest.approx(0.1, abs=1e-12)


@pytest.mark.parametrize("shift", [0.0, -3.5, 1e6])
@pytest.mark.parametrize("scale", [0.001, 1.0, 25.4])
def test_limits_move_and_stretch_with_the_readings(shift, scale):
    plain = individuals_limits(flowrates()).individuals
    moved = individuals_limits([shift + scale * value for value in flowrates()]).individuals
    found = (moved.centre, moved.lower, moved.upper)
    assert found == pytest.approx([shift + scale * v for v in (plain.centre, plain.lower, plain.upper)], rel=1e-9)


def test_limits_of_the_rings_move_and_stretch_with_them():
    plain = subgroup_limits(rings()).averages(5)
    moved = subgroup_limits([[10 - 2 * value for value in row] for row in rings()]).averages(5)
    assert (moved.lower, moved.upper) == pytest.approx((10 - 2 * plain.upper, 10 - 2 * plain.lower))


def test_equal_readings_have_limits_on_the_centre():
    found = individuals_limits([5.0] * 4).individuals
    assert (found.lower, found.centre, found.upper) == (5, 5, 5)


def test_frozen_limits_come_back_from_centre_and_mean_range():
    whole = individuals_limits(flowrates())
    assert limits_about(whole.individuals.centre, mean_range=whole.moving_range.centre) == whole.individuals


@pytest.mark.parametrize("values", [[], [1.0], [1.0, None, 2.0]], ids=["none", "one", "none-beside-another"])
def test_limits_need_two_readings_beside_each_other(values):
    with pytest.raises(ValueError, match="beside each other"):
        individuals_limits(values)


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_what_is_no_finite_number_is_named_by_its_place(bad):
    with pytest.raises(ValueError, match="at place 2"):
        individuals_limits([1.0, bad, 2.0])


def test_a_subgroup_of_one_is_named():
    with pytest.raises(ValueError, match="in subgroup 2"):
        subgroup_limits([[1.0, 2.0], [1.0]])


def test_fewer_than_twenty_points_are_trial_limits():
    assert individuals_limits([1.0, 2.0] * 9).trial
    assert not individuals_limits([1.0, 2.0] * 10).trial
    assert not subgroup_limits(rings()).trial
