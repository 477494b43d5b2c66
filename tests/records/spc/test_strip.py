"""How the band is used: jaws where limits are, dots that stack, a bar of three sigma for a steady process only."""

import pytest

from records.spc.strip import WIDTH, draw_strip


def strip(values, lower=72.9, upper=73.1, aim=73.0, sigma=0.02):
    return draw_strip(values, lower=lower, upper=upper, aim=aim, sigma=sigma, decimals=2)


def test_the_aim_stands_in_the_middle_of_an_even_band_and_the_mean_where_it_is():
    drawn = strip([73.0, 73.0])
    assert drawn.aim == drawn.mean == (drawn.lower + drawn.upper) / 2
    assert [word for _, word in drawn.labels] == ["72.90", "73.00", "73.10"]


def test_a_band_with_one_limit_has_one_jaw_and_runs_on_to_the_other_side():
    drawn = strip([0.4, 0.5], lower=None, upper=0.8, aim=None)
    assert drawn.lower is None
    assert drawn.band_from + drawn.band_width == pytest.approx(drawn.upper)


def test_values_that_are_equal_stand_on_each_other():
    drawn = strip([73.0, 73.0, 73.02])
    assert len({place for place, _ in drawn.dots}) == 2
    assert len({height for _, height in drawn.dots}) == 2


def test_a_value_far_outside_stands_at_the_edge():
    drawn = strip([73.0, 99.0])
    assert 0 < max(place for place, _ in drawn.dots) < WIDTH


def test_no_bar_is_drawn_for_a_process_that_is_not_steady():
    assert strip([73.0, 73.01], sigma=None).bar is None
    left, right = strip([73.0, 73.0]).bar
    assert (right - left) / (strip([73.0]).upper - strip([73.0]).lower) == pytest.approx(0.12 / 0.2, rel=0.02)


def test_without_a_value_or_without_a_band_nothing_is_drawn():
    assert strip([]) is None
    assert strip([73.0], lower=None, upper=None) is None
