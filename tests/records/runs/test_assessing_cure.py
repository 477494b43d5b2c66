"""A cure judged against a recipe: the worked record first, then what can go wrong with a record."""

import numpy as np
import pytest

from records.runs.assessing import Feature, Recipe, RoleUnknown, Rule, Verdict, assess_log
from records.runs.assessing.soaking import fastest_rise, time_above
from tests.records.runs.files import EXAMPLES, example_log, ramp_and_soak, stamps, text_log, written

# Process example cure-09: five channels, one fault, one gap; worked out by two implementations. 75 to 85 degC are
# example values, not a rule.
WORKED = EXAMPLES["cure-09"]["expected"]
SAMPLE_MIN = 1.0
SOAK = Rule(Feature.SOAK_COLDEST, level=75, lower=60)


def judged(log, *rules, **options):
    return assess_log(log, Recipe("RP-26-000012-0", "3", rules or (SOAK,), **options.pop("recipe", {})), **options)


def check(log, rule, **options):
    return judged(log, rule, **options).checks[0]


def cure_log(*probes, minutes=None, heading=None):
    """A record of these probes, one row a minute."""
    at = minutes or stamps(len(probes[0]))
    names = heading or "Time," + ",".join(f"TC{n} (°C)" for n in range(1, len(probes) + 1))
    return text_log(written(names, at, *probes))


@pytest.fixture(scope="module")
def worked():
    return example_log("thermocouples.csv")


def test_the_soak_of_the_worked_record_is_found_in_the_curve(worked):
    got = check(worked, SOAK)
    assert got.got == pytest.approx(WORKED["dwell_min"], abs=SAMPLE_MIN)
    assert got.start_s / 60 == pytest.approx(WORKED["dwell_start_min"], abs=SAMPLE_MIN)
    assert got.end_s / 60 == pytest.approx(WORKED["dwell_end_min"], abs=SAMPLE_MIN)
    assert got.verdict is Verdict.WITHIN


def test_a_probe_that_fails_high_makes_no_overshoot(worked):
    assert check(worked, Rule(Feature.PEAK, upper=85)).got == pytest.approx(WORKED["peak_C"], abs=0.05)


def test_the_probe_that_failed_is_named_with_its_moment_and_what_it_leaves_open(worked):
    assessment = judged(worked)
    assert [(f.name, f.from_s / 60) for f in assessment.faults] == [("TC5", WORKED["TC5_fault_from_min"])]
    assert any("TC5 was the coldest probe until it failed" in words for words in assessment.cautions)


def test_probes_that_still_work_are_counted(worked):
    rule = Rule(Feature.PROBES_WORKING, level=75, lower=4)
    assert check(worked, rule).got == WORKED["working_TCs_after_fault"]


def test_rates_of_the_worked_record(worked):
    up, down = WORKED["max_heat_rate_C_per_min_5min_window"], WORKED["max_cool_rate_C_per_min_5min_window"]
    assert check(worked, Rule(Feature.HEAT_UP_MAX, upper=3)).got == pytest.approx(max(up.values()), abs=0.005)
    assert check(worked, Rule(Feature.COOL_DOWN_MAX, upper=3)).got == pytest.approx(max(down.values()), abs=0.005)


@pytest.mark.parametrize("name", list(WORKED["time_above_75_min_interpolated"]))
def test_time_above_a_level_is_cut_by_straight_lines(worked, name):
    values = worked.channel(name).values
    right = WORKED["time_above_75_min_interpolated"][name]
    assert time_above(worked.seconds, values, 75) / 60 == pytest.approx(right, abs=0.02)


@pytest.mark.parametrize("name", list(WORKED["max_heat_rate_C_per_min_5min_window"]))
def test_the_fastest_five_minutes_of_each_channel(worked, name):
    rise = fastest_rise(worked.seconds, worked.channel(name).values, longest_gap_s=300)
    assert rise[0] == pytest.approx(WORKED["max_heat_rate_C_per_min_5min_window"][name], abs=0.005)


def test_the_gap_of_the_worked_record(worked):
    got = check(worked, Rule(Feature.LONGEST_GAP, upper=5))
    assert [[got.start_s / 60, got.end_s / 60]] == WORKED["gaps_min"]


def test_phases_are_found_in_the_curve_whatever_the_clock_says():
    plain = cure_log(ramp_and_soak())
    late = cure_log([20.0] * 200 + ramp_and_soak(), heading="Time,TC1 (°C)")
    assert [phase.name for phase in judged(late).phases] == ["heat-up", "soak", "cool-down"]
    assert judged(late).checks[0].got == pytest.approx(judged(plain).checks[0].got)
    assert judged(late).phases[0].start_s >= 200 * 60


def test_the_coldest_probe_decides_on_the_soak_and_the_hottest_on_the_limit():
    log = cure_log(ramp_and_soak(), ramp_and_soak(offset=-3), ramp_and_soak(offset=2))
    assert check(log, Rule(Feature.SOAK_HOTTEST, level=75, upper=81)).verdict is Verdict.OUTSIDE
    assert check(log, Rule(Feature.SOAK_LOWEST, level=75, lower=75)).verdict is not Verdict.OUTSIDE
    assert check(log, SOAK).got < check(cure_log(ramp_and_soak(offset=2)), SOAK).got


def test_an_interrupted_soak_counts_its_longest_piece_unless_pieces_add():
    curve = ramp_and_soak(soak_min=70)
    curve[65:73] = [74.0] * 8
    log = cure_log(curve)
    whole, added = check(log, SOAK), check(log, Rule(Feature.SOAK_COLDEST_SUM, level=75, lower=60))
    assert (whole.verdict, added.verdict) == (Verdict.OUTSIDE, Verdict.WITHIN)
    assert "Interrupted" in whole.words
    assert "lowest 74.0 degC" in whole.words
    assert added.got > whole.got


def test_a_single_reading_under_the_level_breaks_the_soak():
    curve = ramp_and_soak(soak_min=70)
    curve[65] = 74.9
    assert check(cure_log(curve), SOAK).verdict is Verdict.OUTSIDE


def test_on_the_level_and_on_the_limit_is_inside():
    curve = [20.0, *[75.0] * 61, 20.0]
    got = check(cure_log(curve), Rule(Feature.SOAK_COLDEST, level=75, lower=60))
    assert (got.got, got.verdict) == (60.0, Verdict.NEAR_EDGE)


def test_how_much_is_missing_is_said_in_words():
    got = check(cure_log(ramp_and_soak(soak_min=43)), SOAK)
    assert got.verdict is Verdict.OUTSIDE
    assert got.words == f"Soak, coldest probe: {60 - got.got:.3g} min too short."


def test_a_record_that_ends_within_the_soak_does_not_show_it():
    got = check(cure_log(ramp_and_soak()[:60]), SOAK)
    assert (got.verdict, got.got) == (Verdict.NOT_SHOWN, None)
    assert "doesn't show the soak from its beginning to its end" in got.words


def test_a_long_gap_leaves_the_soak_open_unless_both_lengths_agree():
    curve, at = ramp_and_soak(soak_min=70), stamps(131)
    gap = slice(50, 62)
    kept, times = [*curve[: gap.start], *curve[gap.stop :]], [*at[: gap.start], *at[gap.stop :]]
    log = cure_log(kept, minutes=times)
    assert check(log, SOAK).verdict is Verdict.NOT_SHOWN
    assert check(log, Rule(Feature.SOAK_COLDEST, level=75, lower=20)).verdict is Verdict.WITHIN
    assert check(log, Rule(Feature.SOAK_COLDEST, level=75, lower=200)).verdict is Verdict.OUTSIDE


def test_a_short_excursion_is_judged_from_all_samples():
    curve = [80.0] * 10_000
    curve[5003] = 130.0
    log = cure_log(curve, curve, minutes=stamps(10_000, step_s=1))
    assert check(log, Rule(Feature.PEAK, upper=85)).got == 130.0


def test_an_open_probe_makes_no_cold_part_and_a_probe_at_zero_neither():
    good = ramp_and_soak()
    zero = [*good[:5], *[0.0] * (len(good) - 5)]
    assessment = judged(cure_log(good, good, zero))
    assert assessment.checks[0].verdict is Verdict.WITHIN
    assert [fault.name for fault in assessment.faults] == ["TC3"]


def test_a_jump_that_all_probes_make_is_believed():
    up = [20.0] * 10 + [80.0] * 90 + [20.0] * 10
    assert judged(cure_log(up, up)).faults == ()


def test_degrees_fahrenheit_are_turned_and_a_file_without_a_unit_is_not_guessed():
    in_f = [round(t * 1.8 + 32, 2) for t in ramp_and_soak()]
    fahrenheit = cure_log(in_f, heading="Time,TC1 (°F)")
    assert check(fahrenheit, SOAK).got == pytest.approx(check(cure_log(ramp_and_soak()), SOAK).got, abs=0.01)
    silent = cure_log(ramp_and_soak(), heading="Time,Sensor 1")
    assert check(silent, SOAK, roles={"probe": "Sensor 1"}).verdict is Verdict.NOT_SHOWN
    assert check(silent, SOAK, roles={"probe": "Sensor 1 [degC]"}).verdict is Verdict.WITHIN


def test_a_set_point_is_no_probe():
    log = cure_log(ramp_and_soak(offset=-10), [80.0] * 131, heading="Time,TC1 (°C),Set point (°C)")
    assert check(log, SOAK).got == 0.0


def test_without_times_nothing_that_takes_time_is_shown():
    rows = "".join(f"{t},{t}\n" for t in ramp_and_soak())
    assert judged(text_log("TC1 (°C),TC2 (°C)\n" + rows)).verdict is Verdict.NOT_SHOWN


def test_a_clock_that_goes_back_makes_every_length_uncertain():
    times = stamps(131)
    times[60:] = stamps(71, hour=9)
    assessment = judged(cure_log(ramp_and_soak(), minutes=times))
    assert assessment.verdict is Verdict.NOT_SHOWN
    assert "The clock goes back at line 62" in assessment.checks[0].words


def test_mean_rate_overshoot_spread_and_end():
    log = cure_log(ramp_and_soak(rate=1.0), ramp_and_soak(rate=1.0, offset=-2))
    rules = (Rule(Feature.HEAT_UP_MEAN, level=75, lower=0.5, upper=1.5), Rule(Feature.OVERSHOOT, level=79, upper=3),
             Rule(Feature.SOAK_SPREAD, level=75, upper=3), Rule(Feature.END_TEMPERATURE, upper=45))  # fmt: skip
    got = [c.got for c in judged(log, *rules).checks]
    assert got == [pytest.approx(1.0, abs=0.01), 1.0, 2.0, 20.0]


def test_a_rule_on_the_soak_takes_the_level_of_the_recipe():
    log = cure_log(ramp_and_soak())
    assert judged(log, SOAK, Rule(Feature.SOAK_HOTTEST, upper=85)).checks[1].got == 80.0
    assert judged(log, Rule(Feature.SOAK_HOTTEST, upper=85)).checks[0].verdict is Verdict.NOT_SHOWN


def test_the_worst_check_is_the_verdict_and_a_caution_says_that_no_record_proves_the_part():
    log = cure_log(ramp_and_soak())
    assessment = judged(log, SOAK, Rule(Feature.PEAK, upper=70), Rule(Feature.ULTIMATE, upper=5))
    assert [c.verdict for c in assessment.checks] == [Verdict.WITHIN, Verdict.OUTSIDE, Verdict.NOT_SHOWN]
    assert assessment.verdict is Verdict.OUTSIDE
    assert "does not prove the part" in assessment.cautions[-1]


def test_a_role_or_channel_that_is_not_there_is_refused():
    with pytest.raises(RoleUnknown, match="no role oven"):
        judged(cure_log(ramp_and_soak()), roles={"oven": "TC1"})
    with pytest.raises(RoleUnknown, match="no channel TC9"):
        judged(cure_log(ramp_and_soak()), roles={"probe": "TC9"})


def test_times_of_checks_are_told_in_the_zone_of_the_file():
    times = [f"{at}+01:00" for at in stamps(131)]
    got = check(cure_log(ramp_and_soak(), minutes=times), SOAK)
    assert got.from_at == "2026-11-24T09:27:30+01:00"


def test_a_record_with_one_sample_shows_nothing_and_does_not_fail():
    assessment = judged(cure_log([80.0]), *[Rule(feature, level=75, upper=1) for feature in Feature])
    assert {c.verdict for c in assessment.checks} <= {Verdict.NOT_SHOWN, Verdict.OUTSIDE, Verdict.WITHIN}
    assert assessment.checks[0].verdict is Verdict.NOT_SHOWN


@pytest.mark.parametrize("shift_s", [0, 86_400 * 400])
def test_the_same_curve_gives_the_same_verdict_at_any_date(shift_s):
    start = np.datetime64("2026-11-24T09:00:00") + np.timedelta64(shift_s, "s")
    times = [str(start + np.timedelta64(n, "m")) for n in range(131)]
    assert check(cure_log(ramp_and_soak(), minutes=times), SOAK).got == pytest.approx(75.0)


IN_SOAK = (
    Rule(Feature.SOAK_LOWEST, level=75, lower=75),
    Rule(Feature.SOAK_HOTTEST, level=75, upper=85),
    Rule(Feature.PEAK, upper=85),
    Rule(Feature.OVERSHOOT, level=80, upper=5),
)


def test_an_extreme_is_not_shown_where_a_gap_in_the_soak_may_hide_a_worse_one():
    curve, at = ramp_and_soak(), stamps(131)
    for lost, due in ((12, Verdict.NOT_SHOWN), (3, Verdict.WITHIN)):
        kept, times = [*curve[:50], *curve[50 + lost :]], [*at[:50], *at[50 + lost :]]
        found = judged(cure_log(kept, minutes=times), SOAK, *IN_SOAK).checks[1:]
        assert {c.verdict for c in found[1:]} == {due}
        assert (found[1].got is None) == (due is Verdict.NOT_SHOWN)


def test_what_is_outside_beside_a_gap_stays_outside():
    curve, at = ramp_and_soak(soak=90), stamps(141)
    log = cure_log([*curve[:50], *curve[62:]], minutes=[*at[:50], *at[62 : len(curve)]])
    assert judged(log, SOAK, Rule(Feature.PEAK, upper=85)).checks[1].verdict is Verdict.OUTSIDE


def test_a_record_that_ends_on_the_way_up_does_not_show_that_there_was_no_soak():
    curve = ramp_and_soak()
    assert check(cure_log(curve[:20]), SOAK).verdict is Verdict.NOT_SHOWN
    cold = check(cure_log(ramp_and_soak(soak=60)), SOAK)
    assert (cold.verdict, cold.got) == (Verdict.OUTSIDE, 0.0)


@pytest.mark.parametrize(
    ("feature", "rows", "due"),
    [
        (Feature.COOL_DOWN_MAX, slice(0, 70), Verdict.NOT_SHOWN),
        (Feature.COOL_DOWN_MAX, slice(40, None), Verdict.WITHIN),
        (Feature.HEAT_UP_MAX, slice(40, 90), Verdict.NOT_SHOWN),
        (Feature.HEAT_UP_MAX, slice(0, 70), Verdict.WITHIN),
    ],
)
def test_a_rate_is_shown_only_where_its_ramp_is_on_the_record(feature, rows, due):
    found = check(cure_log(ramp_and_soak()[rows]), Rule(feature, upper=3))
    assert (found.verdict, found.got is None) == (due, due is Verdict.NOT_SHOWN)


def test_a_probe_beside_the_part_is_outside_and_asked_about():
    curve = ramp_and_soak()
    assessment = judged(cure_log(curve, [20.0 + n % 3 / 10 for n in range(len(curve))]))
    assert assessment.verdict is Verdict.OUTSIDE
    assert "TC2 hardly moved while others did: is it on the part?" in assessment.cautions


def test_a_probe_that_gave_no_reading_at_all_is_named():
    curve = ramp_and_soak()
    assessment = judged(cure_log(curve, ["---"] * len(curve)))
    assert [fault.name for fault in assessment.faults] == ["TC2"]
