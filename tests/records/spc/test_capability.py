"""Capability against published indices and bounds; tolerances stand beside each value in the tables."""

import numpy
import pytest

from records.spc.capability import (
    COARSE,
    NO_BAND,
    NO_SPREAD,
    SIGNAL,
    Band,
    indices,
    least_index,
    noncentral_t,
    pair,
    parts_outside,
)
from records.spc.limits import Spread, individuals_limits, overall_deviation, subgroup_limits
from tests.records.spc.published import expected, is_as_published, rings, rows


def found_for(**changes):
    """Indices of 50 steady readings around 10 with a sigma of 1 in a band from 4 to 16."""
    said = {"mean": 10.0, "n": 50, "within": Spread(1.0, "by hand", 30.0), "overall": 1.0, "band": Band(4, 16)}
    return indices(**(said | changes))


def test_the_handbooks_process_has_the_handbooks_indices():
    """NIST/SEMATECH e-Handbook 6.1.6: limits 8 and 20, mean 16, sigma 2 (from memory)."""
    told = expected("04_capability_basic")
    found = pair(16, 2, Band(8, 20))
    assert is_as_published(found.both, told["nist: USL20 LSL8 mean16 s2 -> Cp"])
    assert is_as_published(found.nearer, told["nist Cpk"])
    assert is_as_published(pair(16, 2, Band(lower=8)).nearer, told["nist Cpl"])


def test_the_rings_have_the_indices_worked_out_from_their_unrounded_sigma():
    """Montgomery, Table 6.3, limits 73.95 and 74.05. The book prints Cp 1.68 from a rounded sigma."""
    told = expected("02_piston_rings_25x5")
    limits = subgroup_limits(rings())
    overall = overall_deviation([value for row in rings() for value in row])
    found = indices(mean=limits.grand_mean, n=125, within=limits.within, overall=overall, band=Band(73.95, 74.05))
    assert is_as_published(found.cp, told["Cp_LSL73.95_USL74.05_Rbar"])
    assert is_as_published(found.cpk, told["Cpk_Rbar"])
    assert is_as_published(found.pp, told["Pp"])
    assert is_as_published(found.ppk, told["Ppk"])


def test_two_spreads_give_two_pairs_under_their_own_names():
    """Three subgroups that drift: within 0.00887, overall 0.04506; Cp 7.52, Cpk 5.83, Pp 1.48, Ppk 1.15."""
    subgroups = [[10.00, 10.01], [10.05, 10.06], [10.10, 10.11]]
    limits = subgroup_limits(subgroups)
    overall = overall_deviation([value for row in subgroups for value in row])
    inside, whole = (pair(limits.grand_mean, sigma, Band(9.9, 10.3)) for sigma in (limits.within.sigma, overall))
    assert (inside.both, inside.nearer) == pytest.approx((7.52, 5.83), abs=0.005)
    assert (whole.both, whole.nearer) == pytest.approx((1.48, 1.15), abs=0.005)


def test_three_readings_use_the_deviation_over_n_less_one():
    """Divided by n the index of these would come out 22 % too high: 0.0816 for 0.1."""
    band = Band(9.7, 10.5)
    assert pair(10.1, overall_deviation([10.0, 10.1, 10.2]), band).nearer == pytest.approx(4 / 3, abs=1e-6)


@pytest.mark.parametrize("row", rows("04_cpk_lower_bound_95"), ids=lambda row: f"n={row['n']} Cpk={row['observed']}")
def test_the_bound_is_the_exact_one_of_the_noncentral_t(row):
    n = int(row["n"])
    found = least_index(float(row["observed"]), n=n, df=n - 1)
    assert found == pytest.approx(float(row["exact_noncentral_t_one_sided_index"]), abs=5e-5)


@pytest.mark.parametrize("row", rows("04_observed_index_needed"), ids=lambda row: f"n={row['n']}")
def test_the_index_that_must_be_observed_promises_the_index_claimed(row):
    n = int(row["n"])
    for claimed in ("1.00", "1.33", "1.67"):
        observed = float(row[f"observed_needed_for_{claimed}"])
        assert least_index(observed, n=n, df=n - 1) == pytest.approx(float(claimed), abs=1e-3)


def test_the_bound_agrees_with_three_other_methods_to_nine_digits():
    """Cpk 1.45 of 125: library root search, own root search and an integral gave 1.289550319366."""
    assert least_index(1.45, n=125, df=124) == pytest.approx(1.289550319366, abs=1e-9)


def test_28_singles_by_moving_range_promise_less_than_28_by_deviation():
    """Worth about 16 degrees of freedom: a Cpk of 1.34 is at least 0.94."""
    df = individuals_limits([float(n % 2) for n in range(28)]).within.df
    assert least_index(1.34, n=28, df=df) == pytest.approx(0.94, abs=0.005)
    assert least_index(1.34, n=28, df=27) > 1.0


def test_the_bound_holds_in_95_of_100_made_up_charts():
    """2,000 charts of 28 normal singles with a true Cpk of 1.33; three standard errors are 1.5 points."""
    charts = numpy.random.default_rng(1992).normal(size=(2000, 28))
    limits = [individuals_limits(list(row)) for row in charts]
    least = [
        least_index(pair(row.mean(), at.within.sigma, Band(upper=3.99)).nearer, n=28, df=at.within.df)
        for row, at in zip(charts, limits, strict=True)
    ]
    assert 0.935 < numpy.mean(numpy.array(least) <= 1.33) < 0.98


@pytest.mark.parametrize("n", [2, 5, 28, 1000, 50_000])
def test_the_bound_rises_with_the_index_and_stays_below_it(n):
    given = (-20, -0.5, 0, 0.3, 1, 1.33, 3, 50, 3000)
    found = [least_index(index, n=n, df=max(1.0, 0.6 * n)) for index in given]
    assert found == sorted(found)
    assert all(least < index for least, index in zip(found, given, strict=True))


def test_beyond_the_library_the_bound_goes_on_without_a_jump():
    """At 3 sqrt(n) index = 10,000 the reckoning changes over to chi-square alone."""
    n, df = 1000, 600
    edge = 10_000 / (3 * n**0.5)
    near, far = (least_index(edge * part, n=n, df=df) / (edge * part) for part in (0.3, 1.01))
    assert far == pytest.approx(near, rel=1e-4)


def test_the_noncentral_t_without_shift_is_students_t():
    """Student's table: 95 % below 1.812 with 10 degrees of freedom."""
    assert noncentral_t(1.812, df=10, shift=0) == pytest.approx(0.95, abs=5e-5)


@pytest.mark.parametrize("row", rows("04_ppm_table"), ids=lambda row: f"Cp={row['cp_or_cpu']}")
def test_parts_outside_are_those_of_the_normal_table(row):
    reach = 3 * float(row["cp_or_cpu"])
    assert parts_outside(0, 1, Band(upper=reach)) * 1e6 == pytest.approx(float(row["one_sided_ppm_computed"]), rel=1e-5)
    both = parts_outside(0, 1, Band(-reach, reach)) * 1e6
    assert both == pytest.approx(float(row["two_sided_ppm_computed"]), rel=1e-5)


def test_a_steady_process_shows_both_pairs_with_n_and_bounds():
    found = found_for()
    assert (found.shown, found.why, found.n, found.df) == (True, None, 50, 30.0)
    assert (found.cp, found.cpk, found.pp, found.ppk) == (2, 2, 2, 2)
    # Fewer degrees of freedom promise less: the bound of Cpk rests on 30, that of Ppk on 49.
    assert found.cpk_least < found.ppk_least < 2


def test_a_signal_leaves_the_performance_only():
    found = found_for(signals=1)
    assert (found.shown, found.why, found.cp, found.cpk, found.cpk_least) == (False, SIGNAL, None, None, None)
    assert (found.pp, found.ppk) == (2, 2)


def test_a_coarse_gauge_is_named_before_a_signal():
    assert found_for(coarse=True, signals=2).why == COARSE


def test_without_a_band_there_is_no_index():
    found = found_for(band=Band())
    assert (found.shown, found.why, found.pp) == (False, NO_BAND, None)


def test_equal_readings_have_no_index():
    found = found_for(within=Spread(0.0, "by hand", 30.0), overall=0.0)
    assert (found.shown, found.why, found.ppk) == (False, NO_SPREAD, None)


@pytest.mark.parametrize(("band", "cpk"), [(Band(upper=13), 1.0), (Band(lower=4), 2.0)])
def test_a_one_sided_band_has_no_width(band, cpk):
    found = found_for(band=band)
    assert (found.cp, found.pp, found.cpk, found.ppk) == (None, None, cpk, cpk)


def test_a_mean_on_the_limit_has_an_index_of_zero():
    assert found_for(mean=16.0).cpk == 0


def test_indices_stay_when_everything_is_moved_and_stretched():
    plain, moved = pair(16, 2, Band(8, 20)), pair(116, 5, Band(96, 126))
    assert (moved.both, moved.nearer) == pytest.approx((plain.both, plain.nearer))


@pytest.mark.parametrize("limits", [(2, 1), (1, 1), (float("nan"), 1), (None, float("inf"))])
def test_a_band_needs_finite_limits_in_order(limits):
    with pytest.raises(ValueError, match="must be"):
        Band(*limits)


@pytest.mark.parametrize("said", [{"n": 1, "df": 1}, {"n": 5, "df": 0}, {"n": 5, "df": 4, "confidence": 1.0}])
def test_a_bound_needs_readings_degrees_and_a_confidence_below_one(said):
    with pytest.raises(ValueError, match="n must be"):
        least_index(1.0, **said)
