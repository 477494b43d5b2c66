"""Run rules against worked cases; conventions in tests/reference/spc/README.md."""

import pytest

from records.spc.limits import Limits
from records.spc.rules import DEFAULT_RULES, OUTSIDE_LIMITS, RUN_ONE_SIDE, Rule, find_signals
from tests.records.spc.published import rows

UNIT = Limits(0.0, -3.0, 3.0)
# Rules of Nelson 1984 (N), of the 1956 handbook (W) and of seven in a row (S), those of the kind "k of m beyond z".
KNOWN = {
    "N1": OUTSIDE_LIMITS,
    "N2": Rule("N2", 9, 9, 0.0),
    "N5": Rule("N5", 2, 3, 2.0),
    "N6": Rule("N6", 4, 5, 1.0),
    "W1": OUTSIDE_LIMITS,
    "W2": Rule("W2", 2, 3, 2.0),
    "W3": Rule("W3", 4, 5, 1.0),
    "W4": RUN_ONE_SIDE,
    "S7": Rule("S7", 7, 7, 0.0),
}
CASES = [row for row in rows("03_run_rule_cases") if row["rule"] in KNOWN]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['rule']} {case['note']}")
def test_a_rule_first_fires_where_the_case_says(case):
    z = [float(value) for value in case["z_values"].split()]
    found = find_signals(z, UNIT, rules=(KNOWN[case["rule"]],))
    first = found[0].at + 1 if found else 0
    assert first == int(case["first_signal_index_or_0"])


def test_the_cases_cover_every_rule_that_is_on_by_default():
    assert {rule.name for rule in DEFAULT_RULES} <= {KNOWN[case["rule"]].name for case in CASES}


def test_on_a_limit_is_inside_even_where_binary_digits_differ():
    limits = Limits(34.9, 34.85, 34.9 + 0.05)  # 34.949999999999996
    assert find_signals([34.95, 34.85], limits) == ()


def test_a_hair_above_a_limit_is_outside():
    assert [s.at for s in find_signals([3.0, 3.000001], UNIT)] == [1]


def test_a_run_that_goes_on_is_one_signal():
    (signal,) = find_signals([-1.0] + [0.5] * 12 + [-1.0], UNIT)
    assert (signal.rule, signal.first, signal.at, signal.last, signal.above) == ("run-one-side", 1, 8, 12, True)


def test_two_runs_on_two_sides_are_two_signals():
    found = find_signals([0.5] * 8 + [-0.5] * 8, UNIT)
    assert [(s.first, s.at, s.above) for s in found] == [(0, 7, True), (8, 15, False)]


def test_each_point_outside_is_a_signal_of_its_own():
    assert [s.at for s in find_signals([4.0, 4.0, -4.0], UNIT)] == [0, 1, 2]


def test_no_run_goes_over_an_empty_place():
    assert find_signals([0.5] * 4 + [None] + [0.5] * 7, UNIT) == ()
    assert find_signals([0.5] * 4 + [None] + [0.5] * 8, UNIT)[0].first == 5


def test_no_run_goes_over_the_start_of_a_piece():
    values = [0.5] * 14
    assert find_signals(values, UNIT)
    assert find_signals(values, UNIT, starts=(7,)) == ()


def test_limits_may_step_from_point_to_point():
    steps = [Limits(0, -3, 3), Limits(0, -1, 1)]
    assert [s.at for s in find_signals([2.0, 2.0], steps)] == [1]


def test_a_range_at_zero_is_no_signal_where_there_is_no_lower_limit():
    assert find_signals([0.0], Limits(1.0, 0.0, 3.2665), rules=(OUTSIDE_LIMITS,)) == ()


def test_frozen_limits_find_a_shift_that_their_own_would_hide():
    first = [0.0, 0.2, -0.2] * 4
    later = [2.0, 2.2, 1.8] * 4
    assert [s.at for s in find_signals(later, Limits(0, -0.9, 0.9))][:1] == [0]
    assert find_signals(first, Limits(0, -0.9, 0.9)) == ()


def test_equal_values_on_their_own_centre_raise_nothing():
    assert find_signals([5.0] * 20, Limits(5, 5, 5)) == ()


@pytest.mark.parametrize("scale", [1e-6, 1.0, 1e6])
def test_signals_stay_when_readings_are_moved_and_stretched(scale):
    z = [0.2, 3.01, -0.5, 3.0, *[0.1] * 8]
    moved = Limits(7 * scale, (7 - 3) * scale, (7 + 3) * scale)
    assert find_signals([(7 + value) * scale for value in z], moved) == find_signals(z, UNIT)


def test_limits_must_fit_the_values():
    with pytest.raises(ValueError, match="one for each of 2"):
        find_signals([1.0, 2.0], [UNIT])
