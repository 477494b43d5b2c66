"""Readings too coarse for the spread.

D. J. Wheeler, "The problem of chunky data", Quality Digest, 10 July 2023; Etgar and Freund, Heliyon 9 (2023) e13655.
"""

import pytest

from records.spc.gauge_step import gauge_step
from records.spc.limits import individuals_limits, moving_ranges
from tests.records.spc.published import colours, flowrates, rings

CHUNKY = [41.1 if place in (6, 14) else 41.0 for place in range(1, 21)]


def judged(values, step):
    """Single readings against a step."""
    return gauge_step(values, moving_ranges(values), sigma=individuals_limits(values).within.sigma, step=step)


def test_two_different_readings_of_twenty_are_coarse():
    """Worked example: 15 of 19 moving ranges zero, sigma 0.0187, step 0.1."""
    found = judged(CHUNKY, 0.1)
    assert (found.coarse, found.distinct, found.zero_ranges, found.ranges) == (True, 2, 15, 19)
    assert found.sigma == pytest.approx(0.0187, abs=5e-5)


def test_the_same_readings_from_a_finer_gauge_are_not():
    """A gauge that shows thousandths tells what the parts are, not what it rounds to."""
    assert not judged(CHUNKY, 0.001).coarse


def test_whole_numbers_with_ties_are_fine_where_the_spread_is_wide():
    assert not judged(colours(), 1.0).wide


def test_worked_examples_of_the_handbooks_are_fine():
    assert not judged(flowrates(), 0.1).wide
    assert not judged([row[0] for row in rings()], 0.001).wide


def test_equal_readings_are_coarse():
    assert judged([5.0] * 10, 0.1).coarse


def test_a_step_just_wider_than_sigma_is_told_but_hides_no_signal():
    found = judged([10.0, 10.1, 10.0, 10.1, 10.2, 10.1], 0.1)
    assert (found.wide, found.coarse) == (True, False)
