"""What the head of a run's page says: the worst of the run first, by rule from its checks."""

from __future__ import annotations

from collections.abc import Sequence

from .assessing.features import FEATURES, Feature
from .models import Assessment, AssessmentCheck, Run
from .recipes import bound_of

# What a check outside means for the part: where the result is too low, and where it is too high.
MEANS: dict[Feature, tuple[str, str]] = {
    Feature.SOAK_COLDEST: (
        "The coldest probe was hot enough for {got}, {short} too short",
        "The soak was {over} too long",
    ),
    Feature.SOAK_COLDEST_SUM: ("The coldest probe was hot enough for {got} in all, {short} too short", ""),
    Feature.SOAK_LOWEST: ("The coldest probe fell {short} too low in the soak", ""),
    Feature.SOAK_HOTTEST: ("", "The hottest probe rose {over} too high in the soak"),
    Feature.SOAK_SPREAD: ("", "The probes were {over} too far apart in the soak"),
    Feature.PEAK: ("No probe became hot enough", "A probe was {over} hotter than allowed"),
    Feature.OVERSHOOT: ("", "The set-point was overshot by {got}"),
    Feature.HEAT_UP_MEAN: ("It heated up too slowly", "It heated up too fast"),
    Feature.HEAT_UP_MAX: ("It heated up too slowly", "It heated up too fast"),
    Feature.COOL_DOWN_MAX: ("It cooled down too slowly", "It cooled down too fast"),
    Feature.END_TEMPERATURE: ("It was too cold at the end", "It was {over} too hot at the end"),
    Feature.PROBES_WORKING: ("Too few probes worked to the end of the soak", ""),
    Feature.LONGEST_GAP: ("", "The record has a gap of {got}"),
    Feature.SOAK_VACUUM: ("", "The vacuum was lost in the soak"),
    Feature.PUMP_DOWN: ("", "It took {over} too long to pump down"),
    Feature.ULTIMATE: ("", "The vacuum before the hold was not deep enough"),
    Feature.HOLD: ("The hold was {short} too short", ""),
    Feature.HOLD_RISE: ("", "The pressure rose {over} too much in the hold"),
    Feature.HOLD_HIGHEST: ("", "The pressure rose too high in the hold"),
    Feature.LEAK_RATE: ("", "It leaks more than the recipe allows"),
    Feature.LEAK_RATIO: ("", "The rise ran straight, as a leak does"),
}
UNITS = {"degC": "°C", "K": "°C", "degC/min": "°C/min", "pc": "", "1": ""}


def finding_of(run: Run, checks: Sequence[AssessmentCheck], assessment: Assessment | None, *, has_log: bool) -> str:
    """The head of the page."""
    if assessment is None:
        return f"{run.code} waits to be judged" if has_log else f"{run.code} has no recorder file yet"
    outside = [check for check in checks if check.verdict == Assessment.Verdict.OUTSIDE]
    if outside:
        more = len(outside) - 1
        return means(outside[0]) + (f", and {more} more" if more else "")
    hidden = next((check for check in checks if check.verdict == Assessment.Verdict.NOT_SHOWN), None)
    if hidden:
        words = FEATURES[Feature(hidden.rule.feature)].words
        return f"This file can’t show: {words}"
    edge = " near an edge" if assessment.verdict == Assessment.Verdict.EDGE else ""
    return f"{run.code} is within its recipe{edge}"


def means(check: AssessmentCheck) -> str:
    """What a check outside says of the run, in one sentence without its full stop."""
    feature = Feature(check.rule.feature)
    known = FEATURES[feature]
    plainly = f"{known.words[0].upper()}{known.words[1:]}: outside the recipe"
    if check.got is None:
        return plainly
    got = bound_of(feature, check.got)
    low, high = (None if steps is None else bound_of(feature, steps) for steps in (check.rule.lower, check.rule.upper))
    words = MEANS[feature][0 if low is not None and got < low else 1]
    unit = UNITS.get(known.unit, known.unit)

    def amount(value: float) -> str:
        return f"{value:.1f}".removesuffix(".0") + (f" {unit}" if unit else "")

    told = {"got": amount(got), "short": amount((low or 0) - got), "over": amount(got - (high or 0))}
    return words.format(**told) or plainly
