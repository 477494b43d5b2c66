"""A log judged against a recipe: phases found in the curve, a verdict for each rule, and what to be careful of."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from records.runs.reading import Clock, Kind, RecorderLog
from records.runs.reading.log import Floats
from records.runs.reading.zones import told

from .channels import Parts, Roles, parts_of
from .curing import Cure, got_from_cure
from .features import HOLD_FEATURES, SOAK_FEATURES, Feature
from .holding import VacuumTest, got_from_vacuum, leak_of, test_of
from .probes import Probes, idle_probes, working_probes
from .recipe import Recipe, Rule, Verdict, worst
from .results import Assessment, At, Check, Finding, Phase
from .soaking import heat_up

_SHUT_WORDS = re.compile(r"(?i)valve.*(?:shut|closed?)|(?:shut|close[ds]?)\b.*valve|isolat|ventil.*(?:zu|geschlossen)")
_NO_PROOF = (
    "A record within its limits does not prove the part. The supplier's data sheet and the works' process sheet come "
    "first; a responsible person releases it."
)


@dataclass(frozen=True)
class _Curve:
    """Everything that the rules are judged from."""

    log: RecorderLog
    recipe: Recipe
    parts: Parts
    probes: Probes
    cure: Cure
    test: VacuumTest | None


def assess_log(log: RecorderLog, recipe: Recipe, *, roles: Roles | None = None) -> Assessment:
    """Judge a recorder file against a recipe.

    Parameters
    ----------
    log : RecorderLog
        The file as read.
    recipe : Recipe
        The limits.
    roles : mapping of str to str or list of str, optional
        Names of channels by role (``probe``, ``vacuum``, ``valve``). A name may carry a unit that the file leaves
        out, as in ``"Sensor 1 [degC]"``.

    Raises
    ------
    RoleUnknown
        For a role or a channel that is not there.
    """
    recipe = recipe.with_levels()
    parts = parts_of(log, roles)
    refusal = _why_not(log)
    if refusal:
        checks = tuple(_check(rule, Finding(None, refusal), log) for rule in recipe.rules)
        return Assessment(recipe.code, recipe.revision, Verdict.NOT_SHOWN, (), checks, (*parts.cautions, _NO_PROOF))
    curve = _curve(log, recipe, parts)
    checks = tuple(_check(rule, _finding(rule, curve), log) for rule in recipe.rules)
    leak = leak_of(curve.test, recipe.volume_l) if curve.test else None
    verdict = worst(check.verdict for check in checks)
    return Assessment(recipe.code, recipe.revision, verdict, tuple(_phases(curve)), checks, tuple(_cautions(curve)),
                      curve.probes.faults, leak)  # fmt: skip


def _why_not(log: RecorderLog) -> str:
    """Why nothing that takes time can be judged, empty when it can."""
    if log.clock in (Clock.NONE, Clock.COUNTER) or not np.isfinite(log.seconds).any():
        return "The rows can't be placed in time, so nothing that takes time is shown."
    if len(log.starts) > 1:
        return f"The file holds {len(log.starts)} batches one after another; give the file of one run."
    if (np.diff(log.seconds) < 0).any():
        back = next((problem.line for problem in log.problems if problem.kind is Kind.TIME_BACK), None)
        return f"The clock goes back at line {back}, so no length of time is certain; give the zone or put it right."
    return ""


def _curve(log: RecorderLog, recipe: Recipe, parts: Parts) -> _Curve:
    probes = working_probes(list(parts.probes), list(parts.temperatures), log.seconds)
    level = next((rule.level for rule in recipe.rules if rule.feature in SOAK_FEATURES), None)
    absolute = parts.pressure if parts.is_absolute else np.full(len(log.seconds), np.nan)
    cure = Cure(log.seconds, probes, absolute, level, 60 * recipe.longest_gap_min)
    test = None
    if any(rule.feature in HOLD_FEATURES for rule in recipe.rules):
        temperatures = list(probes.values)
        test = test_of(log.seconds, parts.pressure, temperatures, recipe, is_absolute=parts.is_absolute,
                       shut_at_s=_shut_at(log, parts))  # fmt: skip
    return _Curve(log, recipe, parts, probes, cure, test)


def _shut_at(log: RecorderLog, parts: Parts) -> float | None:
    """When the valve to the pump was shut, by its channel or by a mark in the file. [s]"""
    if parts.valve is not None:
        shut = np.flatnonzero((parts.valve.values[:-1] > 0.5) & (parts.valve.values[1:] <= 0.5)) + 1
        return float(log.seconds[shut[-1]]) if shut.size else None
    marks = [event.line for event in log.events if _SHUT_WORDS.search(event.words)]
    after = np.flatnonzero(log.lines > marks[-1]) if marks else np.array([])
    return float(log.seconds[after[0]]) if after.size else None


def _finding(rule: Rule, curve: _Curve) -> Finding:
    if rule.feature is Feature.LONGEST_GAP:
        return _longest_gap(curve.log.seconds)
    if rule.feature in HOLD_FEATURES and curve.test is not None:
        return got_from_vacuum(rule, curve.test)
    return got_from_cure(rule, curve.cure)


def _longest_gap(seconds: Floats) -> Finding:
    steps = np.diff(seconds)
    if not steps.size:
        return Finding(None, "The file has one row.")
    at = int(np.argmax(steps))
    return Finding(float(steps[at]) / 60, "", float(seconds[at]), float(seconds[at + 1]))


def _check(rule: Rule, finding: Finding, log: RecorderLog) -> Check:
    verdict, got, words = _judged(rule, finding)
    start = None if finding.start_s is None else _at(log, finding.start_s)
    end = None if finding.end_s is None else _at(log, finding.end_s)
    return Check(rule.name, rule.feature, rule.role, got, rule.lower, rule.upper, rule.unit, verdict, words, start, end,
                 finding.start_s, finding.end_s)  # fmt: skip


def _judged(rule: Rule, finding: Finding) -> tuple[Verdict, float | None, str]:
    """Verdict, value and words; a value that a gap leaves open counts only when both its ends agree."""
    if finding.least is not None and finding.most is not None:
        least, most = rule.verdict(finding.least), rule.verdict(finding.most)
        if (least is Verdict.OUTSIDE) != (most is Verdict.OUTSIDE):
            return Verdict.NOT_SHOWN, None, finding.words
        if rule.upper is None:
            return least, finding.got, finding.words
        return worst([least, most]), finding.got, finding.words
    verdict = rule.verdict(finding.got)
    parts = (_distance(rule, finding.got, verdict), finding.words)
    return verdict, finding.got, " ".join(part for part in parts if part)


def _distance(rule: Rule, got: float | None, verdict: Verdict) -> str:
    """How far outside, in words."""
    if verdict is not Verdict.OUTSIDE or got is None:
        return ""
    unit = "" if rule.unit == "1" else f" {rule.unit}"
    if rule.lower is not None and got < rule.lower:
        side = "short" if rule.unit == "min" else "low"
        return f"{rule.name.capitalize()}: {rule.lower - got:.3g}{unit} too {side}."
    side = "long" if rule.unit == "min" else "high"
    return f"{rule.name.capitalize()}: {got - (rule.upper or 0.0):.3g}{unit} too {side}."


def _at(log: RecorderLog, seconds: float) -> At:
    """A time of the run as told: RFC 3339, or seconds in a file without stamps."""
    if log.times is None or not len(log.times):
        return round(seconds, 3)
    whole = np.timedelta64(round(seconds * 1000), "ms")
    return told(log.times[0] + whole, log.zone)


def _phases(curve: _Curve) -> list[Phase]:
    found: list[tuple[str, float, float]] = []
    cure, log = curve.cure, curve.log
    pieces = cure.pieces(cure.level)
    if pieces and cure.level is not None:
        warmed = heat_up(cure.seconds, cure.hottest, cure.level)
        if warmed:
            found.append(("heat-up", warmed[0], pieces[0].start_s))
        found.extend(("soak", piece.start_s, piece.end_s) for piece in pieces)
        if pieces[-1].end_s < log.seconds[-1]:
            found.append(("cool-down", pieces[-1].end_s, float(log.seconds[-1])))
    if curve.test and curve.test.hold:
        t, hold = curve.test.seconds, curve.test.hold
        if hold.start > 0:
            found.append(("pump-down", float(t[0]), float(t[hold.start])))
        found.append(("hold", float(t[hold.start]), float(t[hold.end])))
    return [Phase(name, start, end, _at(log, start), _at(log, end)) for name, start, end in found]


def _cautions(curve: _Curve) -> list[str]:
    cautions = [*curve.parts.untold, *curve.parts.cautions]
    coldest = curve.cure.coldest
    for fault in curve.probes.faults:
        cautions.append(f"{fault.words}. It was set aside from {_at(curve.log, fault.from_s)} on.")
        n = curve.probes.names.index(fault.name)
        own = curve.probes.values[n]
        last = np.flatnonzero(np.isfinite(own))
        if last.size and own[last[-1]] <= coldest[last[-1]] and len(curve.probes.names) > 1:
            words = f"{fault.name} was the coldest probe until it failed: if it stands in the surveyed cold place, "
            cautions.append(words + "the record can't prove the soak.")
    cautions.extend(f"{name} hardly moved while others did: is it on the part?" for name in idle_probes(curve.probes))
    working = int(np.isfinite(curve.probes.values).any(axis=1).sum()) if curve.probes.names else 0
    if curve.probes.names and working < 2:
        cautions.append("Fewer than two probes worked; one probe says nothing about the rest of the part.")
    if curve.test:
        cautions.extend(curve.test.cautions)
    return [*cautions, _NO_PROOF]
