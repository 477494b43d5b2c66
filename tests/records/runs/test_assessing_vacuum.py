"""A vacuum test judged against a recipe: worked examples first, then holds that show nothing."""

import numpy as np
import pytest

from records.runs.assessing import Feature, Recipe, Rule, Verdict, assess_log
from records.runs.assessing.leaking import absolute_of, gas_load, leak_mol_per_s, rise_of
from records.runs.reading.units import between, unit_of
from tests.records.runs.files import EXAMPLES, example_log, text_log, written

RULES = (
    Rule(Feature.PUMP_DOWN, level=10, upper=10),
    Rule(Feature.ULTIMATE, upper=5),
    Rule(Feature.HOLD, lower=5),
    Rule(Feature.LEAK_RATE, upper=0.3),
    Rule(Feature.HOLD_RISE, level=5, upper=5),
)
AMBIENT = 1013.0


def example(name):
    return EXAMPLES[name]["inputs"], EXAMPLES[name]["expected"], EXAMPLES[name]["tolerance"]


def pumped(*, hold_min=10, leak=0.2, outgas=0.0, plateau_min=8, step_s=10, noise=0.0, vent=True, pump_down=True):
    """Pressures of a test: pump-down to 2 mbar, a while at it, the valve shut, the hold, the vent. [mbar]"""
    made = np.random.default_rng(3)
    down = np.maximum(AMBIENT * np.exp(-np.arange(0, 900, step_s) / 60.0), 0.0) + 2.0
    plateau = np.full(plateau_min * 60 // step_s, 2.0)
    t = np.arange(1, hold_min * 60 // step_s + 1) * step_s / 60
    hold = 2.0 + leak * t + outgas * (1 - np.exp(-t / 1.5))
    end = [300.0, 700.0, AMBIENT] if vent else []
    curve = np.concatenate([down if pump_down else [], plateau, hold, end])
    return np.round(curve + made.normal(0, noise, len(curve)), 4)


def vacuum_log(pressures, *temperatures, step_s=10, heading="Vacuum (mbar abs)"):
    seconds = np.arange(len(pressures)) * step_s
    names = ",".join(["t_s", heading, *(f"Mould {n} (°C)" for n in range(len(temperatures)))])
    return text_log(written(names, seconds, pressures, *temperatures))


def judged(log, *rules, volume_l=None, roles=None):
    return assess_log(log, Recipe("RP-26-000013-8", "1", rules or RULES, volume_l=volume_l), roles=roles)


@pytest.mark.parametrize("shape", ["leak", "outgassing", "mixed"])
def test_the_shape_of_the_rise_is_that_of_the_worked_curves(shape):
    """vac-08; the file is rounded, so the ratio is held to 0.01."""
    _, right, _ = example("vac-08")
    leak = judged(example_log("vacuum_rise.csv"), roles={"vacuum": f"{shape}_mbar"}).leak
    assert leak.ratio == pytest.approx(right["late_over_early_slope"][shape], abs=0.01)
    if shape in right["late_slope_mbar_per_s"]:
        assert leak.late_mbar_per_min / 60 == pytest.approx(right["late_slope_mbar_per_s"][shape], abs=2e-5)


def test_a_leak_in_moles_is_that_of_the_regulation():
    """vac-02: 40 CFR 1065.644, and V dp/dt beside it."""
    given, right, tolerance = example("vac-02")
    moles = leak_mol_per_s(
        given["V_m3"], (given["p1_Pa"], given["T1_K"]), (given["p2_Pa"], given["T2_K"]), given["dt_s"]
    )
    assert moles == pytest.approx(right["n_mol_per_s"], abs=tolerance)
    load = gas_load(given["V_m3"], (given["p2_Pa"] - given["p1_Pa"]) / given["dt_s"])
    assert load == pytest.approx(right["Q_Pa_m3_per_s"], abs=1e-6)


def test_a_tight_volume_that_warms_up_loses_no_gas():
    """vac-05: 5 mbar at 20 degC reads 6.02 at 80 degC."""
    given, right, _ = example("vac-05")
    cold, warm = given["T1_C"] + 273.15, given["T2_C"] + 273.15
    start, end = (given["p1_mbar"] * 100, cold), (right["p2_mbar"] * 100, warm)
    assert leak_mol_per_s(0.005, start, end, 600) == pytest.approx(0, abs=1e-11)


def test_the_published_drop_test_flattens():
    """vac-03: readings of a distributor's guide, five minutes."""
    given, right, tolerance = example("vac-03")
    inhg = unit_of("inHg").factor
    pressures = -np.array(given["gauge_inHg"]) * inhg
    rise = rise_of(np.array(given["minutes"]) * 60.0, pressures)
    assert rise.ratio == pytest.approx(right["late_to_early_slope"], abs=tolerance)
    assert pressures[-1] - pressures[0] == pytest.approx(right["rise_mbar"], abs=tolerance)


def test_a_limit_in_inches_of_mercury_is_no_small_leak():
    """vac-04: 1 inHg/min on 5 l."""
    given, right, tolerance = example("vac-04")
    per_min = unit_of("inHg").factor * given["limit_inHg_per_min"]
    assert per_min == pytest.approx(right["mbar_per_min"], abs=tolerance)
    assert gas_load(given["V_litre"], per_min / 60) == pytest.approx(right["Q_mbar_l_per_s"], abs=tolerance)


def test_a_gauge_below_nothing_is_a_wrong_gauge_or_barometer():
    """vac-07: at 955 mbar a gauge at 29 inHg shows what can't be."""
    given, right, tolerance = example("vac-07")
    inhg = unit_of("inHg").factor
    for depth, absolute, impossible in zip(given["gauge_inHg"], right["p_abs_mbar"], right["impossible"], strict=True):
        if impossible:
            with pytest.raises(ValueError, match="less than no pressure"):
                absolute_of(depth * inhg, given["p_baro_mbar"])
        else:
            assert absolute_of(depth * inhg, given["p_baro_mbar"]) == pytest.approx(absolute, abs=tolerance)


def test_a_load_of_gas_in_either_system():
    """vac-01: 1 mbar l/s is 0.1 Pa m3/s."""
    factor = between("mbar", "Pa")[0] * 1e-3
    assert factor == pytest.approx(EXAMPLES["vac-01"]["expected"]["mbar_l_per_s_in_Pa_m3_per_s"])


def test_a_good_test_is_within_in_all_its_parts():
    assessment = judged(vacuum_log(pumped(), np.full(len(pumped()), 58.0)))
    assert {c.rule: c.verdict for c in assessment.checks} == {rule.name: Verdict.WITHIN for rule in RULES}
    assert [phase.name for phase in assessment.phases] == ["pump-down", "hold"]
    assert assessment.leak.late_mbar_per_min == pytest.approx(0.2, abs=0.001)


@pytest.mark.parametrize("noise", [0.0, 0.005, 0.02])
def test_the_shutting_of_the_valve_is_found_in_the_curve_and_the_venting_is_no_leak(noise):
    log = vacuum_log(pumped(noise=noise))
    hold = next(phase for phase in judged(log).phases if phase.name == "hold")
    right = 900 + 8 * 60 - 10
    assert hold.start_s == pytest.approx(right, abs=40)
    assert hold.end_s == right + 600
    assert judged(log).leak.late_mbar_per_min == pytest.approx(0.2, abs=0.03)


def test_a_leak_is_outside_and_its_load_is_told_with_the_volume():
    assessment = judged(vacuum_log(pumped(leak=0.6)), volume_l=5.0)
    assert assessment.verdict is Verdict.OUTSIDE
    assert assessment.leak.gas_load_mbar_l_per_s == pytest.approx(5 * 0.6 / 60, abs=1e-4)
    assert judged(vacuum_log(pumped(leak=0.6))).leak.gas_load_mbar_l_per_s is None


def test_outgassing_is_told_from_a_leak_by_its_late_slope():
    assessment = judged(vacuum_log(pumped(leak=0.02, outgas=1.5)))
    assert assessment.leak.shape == "flattening, like outgassing"
    assert next(c for c in assessment.checks if c.feature is Feature.LEAK_RATE).verdict is Verdict.WITHIN


def leak_check(log, **options):
    assessment = judged(log, **options)
    return next(c for c in assessment.checks if c.feature is Feature.LEAK_RATE)


def test_a_hold_that_is_too_short_shows_no_leak():
    got = leak_check(vacuum_log(pumped(hold_min=4)))
    assert (got.verdict, got.got) == (Verdict.NOT_SHOWN, None)
    assert "at least 5.0 are needed" in got.words


def test_a_hold_of_too_few_samples_shows_no_leak():
    got = leak_check(vacuum_log(pumped(step_s=60), step_s=60), roles=None)
    assert got.verdict is Verdict.WITHIN or "samples" in got.words
    few = leak_check(vacuum_log(pumped(hold_min=6, step_s=60), step_s=60))
    assert (few.verdict, "at least 10 are needed" in few.words) == (Verdict.NOT_SHOWN, True)


def test_a_tool_that_warms_by_more_than_two_degrees_shows_no_leak():
    pressures = pumped()
    warming = np.linspace(20, 26, len(pressures)) + np.where(np.arange(len(pressures)) > 138, 3, 0)
    got = leak_check(vacuum_log(pressures, warming))
    assert (got.verdict, "temperature moved" in got.words) == (Verdict.NOT_SHOWN, True)
    steady = leak_check(vacuum_log(pressures, np.full(len(pressures), 58.0)))
    assert steady.verdict is Verdict.WITHIN


def test_missing_samples_in_the_hold_show_no_leak():
    pressures = pumped()
    seconds = np.arange(len(pressures)) * 10.0
    keep = (seconds < 1600) | (seconds > 1720)
    log = text_log(written("t_s,Vacuum (mbar abs)", seconds[keep], pressures[keep]))
    assert (leak_check(log).verdict, "Samples are missing" in leak_check(log).words) == (Verdict.NOT_SHOWN, True)


def test_a_curve_that_never_rises_does_not_show_that_the_valve_was_shut():
    pressures = np.concatenate([pumped(hold_min=0, vent=False), np.full(60, 2.0)])
    got = leak_check(vacuum_log(pressures))
    assert (got.verdict, "valve was shut can't be seen" in got.words) == (Verdict.NOT_SHOWN, True)
    valve = np.where(np.arange(len(pressures)) < 138, 1, 0)
    log = text_log(written("t_s,Vacuum (mbar abs),V3", np.arange(len(pressures)) * 10, pressures, valve))
    with_valve = judged(log, roles={"vacuum": "Vacuum", "valve": "V3"})
    assert with_valve.leak.late_mbar_per_min == pytest.approx(0, abs=1e-9)
    assert [c.verdict for c in with_valve.checks if c.feature is Feature.LEAK_RATE] == [Verdict.WITHIN]


def test_a_record_that_begins_under_vacuum_shows_no_pump_down():
    checks = {c.feature: c for c in judged(vacuum_log(pumped(pump_down=False))).checks}
    assert checks[Feature.PUMP_DOWN].verdict is Verdict.NOT_SHOWN
    assert checks[Feature.ULTIMATE].verdict is Verdict.WITHIN


def test_a_pressure_that_is_not_said_to_be_absolute_has_no_level():
    checks = {c.feature: c for c in judged(vacuum_log(pumped(), heading="Vacuum (mbar)")).checks}
    assert checks[Feature.ULTIMATE].verdict is Verdict.NOT_SHOWN
    assert checks[Feature.LEAK_RATE].verdict is Verdict.WITHIN
    told = judged(vacuum_log(pumped(), heading="Vacuum (mbar)"), roles={"vacuum": "Vacuum [mbar abs]"})
    assert {c.verdict for c in told.checks} == {Verdict.WITHIN}


def test_a_gauge_that_counts_the_depth_of_the_vacuum_is_turned_round():
    depth = np.round(AMBIENT - pumped(vent=False), 4)
    assessment = judged(vacuum_log(depth, heading="Bag (mbar gauge)"))
    assert assessment.leak.late_mbar_per_min == pytest.approx(0.2, abs=0.001)
    assert any("counts the depth" in words for words in assessment.cautions)


def test_an_exact_zero_of_an_absolute_gauge_is_no_reading():
    pressures = pumped()
    pressures[20] = 0.0
    assessment = judged(vacuum_log(pressures))
    assert any("reads nothing or less 1 times" in words for words in assessment.cautions)
    assert assessment.leak.late_mbar_per_min == pytest.approx(0.2, abs=0.001)


def test_several_pressures_are_asked_about():
    pressures = pumped()
    log = text_log(written("t_s,P1 (mbar),P2 (mbar)", np.arange(len(pressures)) * 10, pressures, pressures))
    assert judged(log).verdict is Verdict.NOT_SHOWN
    assert any("say which is the vacuum" in words for words in judged(log).cautions)


def test_a_pump_down_that_never_reached_its_level_took_at_least_as_long_as_the_pump_worked():
    log = vacuum_log(pumped() + 50)
    longest = judged(log, Rule(Feature.PUMP_DOWN, level=10, upper=10)).checks[0]
    assert (longest.verdict, longest.words.partition(";")[0]) == (
        Verdict.OUTSIDE,
        "The pressure never fell to 10 mbar",
    )
    assert longest.got > 10
    still_open = judged(log, Rule(Feature.PUMP_DOWN, level=10, upper=60)).checks[0]
    assert (still_open.verdict, still_open.got) == (Verdict.NOT_SHOWN, None)


def test_an_absolute_pressure_below_nothing_is_no_reading():
    log = vacuum_log(np.where(np.arange(len(pumped())) == 100, -3.0, pumped()))
    assert [(p.line, p.kind.value) for p in log.problems] == [(102, "error-code")]
