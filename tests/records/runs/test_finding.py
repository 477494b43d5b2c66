"""The head of a run's page says the worst of it, by rule; limits, pieces and time outside are drawn where they are."""

from datetime import datetime, timedelta

import pytest

from plant.catalogue.models import RecipeRule
from records.runs.assessing.features import Feature
from records.runs.drawing import Limit, Quantity, Series, Stretch, draw
from records.runs.finding import MEANS, finding_of, means
from records.runs.models import Assessment, AssessmentCheck, AssessmentPhase, Run
from records.runs.picturing import phase_rows
from records.runs.recipes import steps_of_result

AT = datetime.fromisoformat("2026-03-20T11:00:00+01:00")
OUTSIDE, WITHIN, HIDDEN = "outside", "within", "not-shown"


def check(feature: Feature, got: float | None, *, low=None, high=None, verdict=OUTSIDE) -> AssessmentCheck:
    def steps(value):
        return None if value is None else steps_of_result(feature, value)

    rule = RecipeRule(feature=feature.value, lower=steps(low), upper=steps(high))
    return AssessmentCheck(rule=rule, got=steps(got), verdict=verdict, words="")


def head(*checks: AssessmentCheck, verdict: str = OUTSIDE) -> str:
    return finding_of(Run(code="RN-1"), list(checks), Assessment(verdict=verdict), has_log=True)


@pytest.mark.parametrize(
    ("found", "told"),
    [
        (check(Feature.SOAK_COLDEST, 39, low=60), "The coldest probe was hot enough for 39 min, 21 min too short"),
        (check(Feature.PEAK, 97.5, high=95), "A probe was 2.5 °C hotter than allowed"),
        (check(Feature.HEAT_UP_MAX, 4.6, high=4), "It heated up too fast"),
        (check(Feature.HEAT_UP_MEAN, 0.3, low=0.5, high=1), "It heated up too slowly"),
        (check(Feature.LEAK_RATE, 0.9, high=0.5), "It leaks more than the recipe allows"),
        (check(Feature.HOLD, 4, low=8), "The hold was 4 min too short"),
        (check(Feature.PROBES_WORKING, 1, low=2), "Too few probes worked to the end of the soak"),
        (check(Feature.SOAK_LOWEST, 80, high=75), "Soak, lowest reading: outside the recipe"),
        (check(Feature.PEAK, None, high=95), "Hottest reading: outside the recipe"),
    ],
)
def test_a_check_outside_is_told_for_what_it_means(found, told):
    assert means(found) == told == head(found)


@pytest.mark.parametrize("feature", Feature)
def test_every_feature_says_something_whichever_side_it_is_outside(feature):
    assert any(MEANS[feature])
    for found in (check(feature, 1, low=5), check(feature, 9, high=5)):
        told = means(found)
        assert told
        assert "{" not in told


def test_the_worst_comes_first_and_the_others_are_counted():
    peak, rate = check(Feature.PEAK, 97.5, high=95), check(Feature.HEAT_UP_MAX, 4.6, high=4)
    assert head(check(Feature.HOLD, 9, low=8, verdict=WITHIN), peak, rate).endswith("hotter than allowed, and 1 more")
    assert head(check(Feature.PEAK, None, verdict=HIDDEN), verdict=HIDDEN) == "This file can’t show: hottest reading"
    assert head(verdict="near-edge") == "RN-1 is within its recipe near an edge"
    assert finding_of(Run(code="RN-1"), [], None, has_log=False) == "RN-1 has no recorder file yet"


def test_pieces_of_an_interrupted_soak_are_one_phase_with_what_lies_between():
    minutes = ((0, 20), (20, 59), (67, 95), (95, 120))
    phases = [
        AssessmentPhase(name=name, from_at=AT + timedelta(minutes=start), to_at=AT + timedelta(minutes=stop))
        for name, (start, stop) in zip(("heat-up", "soak", "soak", "cool-down"), minutes, strict=True)
    ]
    _, soak, _ = phase_rows(phases)
    assert (soak.word, soak.longest_words) == ("soak, 2 pieces", "39.0 min")
    assert soak.between == [(AT + timedelta(minutes=59), AT + timedelta(minutes=67))]
    assert [row.word for row in phase_rows(phases)] == ["heat-up", "soak, 2 pieces", "cool-down"]


def test_a_limit_near_the_curve_is_a_line_and_one_far_away_is_not():
    curve = Series("TC1", [20.0, 80.0, 50.0])
    limits = [Limit(75, "soak from 75"), Limit(95, "at most 95"), Limit(400, "far")]
    picture = draw([0, 60, 120], [Quantity("Temperature", "°C", [curve], limits)], pieces=[Stretch("soak", 60, 90)])
    (panel,) = picture.panels
    assert [mark.words for mark in panel.limits] == ["soak from 75", "at most 95"]
    lower, upper = (mark.place for mark in panel.limits)
    assert panel.top < upper < lower < panel.bottom
    assert len(picture.pieces) == 1
