"""Constants against printed tables; tolerances stand beside each value in the table."""

from math import pi, sqrt

import numpy
import pytest

from records.spc.constants import NEIGHBOUR_COVARIANCE, constants, mean_deviation
from tests.records.spc.published import expected, is_as_published, rows


@pytest.mark.parametrize("row", rows("01_constants"), ids=lambda row: f"n={row['n']}")
def test_constants_are_those_of_the_table_to_its_six_decimals(row):
    c = constants(int(row["n"]))
    found = (c.d2, c.d3, c.c4, c.lower_range_factor, c.upper_range_factor)
    assert found == pytest.approx([float(row[name]) for name in ("d2", "d3", "c4", "D3", "D4")], abs=1e-6)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("d2_n5", lambda: constants(5).d2),
        ("d3_n5", lambda: constants(5).d3),
        ("c4_n5", lambda: constants(5).c4),
        ("D3_n6", lambda: constants(6).lower_range_factor),
        ("D3_n7", lambda: constants(7).lower_range_factor),
        ("D4_n2", lambda: constants(2).upper_range_factor),
        ("D4_n5", lambda: constants(5).upper_range_factor),
        ("d2_n25", lambda: constants(25).d2),
        ("d3_n25", lambda: constants(25).d3),
    ],
)
def test_constants_are_those_printed(name, value):
    """Walpole et al., Table A.22, and Joglekar 2003, Appendix G."""
    assert is_as_published(value(), expected("01_constants")[name])


def test_two_and_three_readings_have_closed_forms():
    """d2(2) = 2/sqrt(pi), d3(2) = sqrt(2 - 4/pi), d2(3) = 3/sqrt(pi): Tippett 1925 (from memory)."""
    assert constants(2).d2 == pytest.approx(2 / sqrt(pi), abs=1e-10)
    assert constants(2).d3 == pytest.approx(sqrt(2 - 4 / pi), abs=1e-10)
    assert constants(3).d2 == pytest.approx(3 / sqrt(pi), abs=1e-10)


def test_a_mean_deviation_of_many_is_nearly_sigma():
    assert mean_deviation(10_000) == pytest.approx(1 - 1 / 40_000, abs=1e-8)


def test_neighbouring_moving_ranges_are_covariant_as_an_integral_over_three_readings_says():
    """By Monte Carlo from the definition, so that the closed form isn't compared with itself."""
    readings = numpy.random.default_rng(2610).normal(size=(2_000_000, 3))
    first, second = abs(readings[:, 1] - readings[:, 0]), abs(readings[:, 2] - readings[:, 1])
    assert numpy.cov(first, second)[0, 1] == pytest.approx(NEIGHBOUR_COVARIANCE, abs=0.003)


def test_one_reading_has_no_range():
    with pytest.raises(ValueError, match="at least 2"):
        constants(1)
