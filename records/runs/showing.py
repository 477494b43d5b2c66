"""A run as its page tells it: the finding, each check in plain units, the curve with what the checks found."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from plant.catalogue.models import RecipeRule

from . import drawing
from .assessing.features import FEATURES, Feature
from .models import Assessment, AssessmentCheck, AssessmentPhase, Log, LogChannel, Run, RunDecision, RunUnit
from .packing import Curve
from .queries import curve_of, standing_of_run
from .recipes import bound_of, plain

MOST_ROWS_SHOWN = 120
NOT_DRAWN = ("", "other", "time")  # a valve or a counter has no axis


@dataclass(frozen=True)
class CheckRow:
    """One rule against what the curve shows, in plain words."""

    name: str
    got: str
    allowed: str
    unit: str
    verdict: str
    words: str


def limits_words(rule: RecipeRule) -> str:
    """Limits of a rule in the unit of its feature, "at least 45 min"."""
    feature = Feature(rule.feature)
    low, high = (None if s is None else f"{bound_of(feature, s):.6g}" for s in (rule.lower, rule.upper))
    if low is None or high is None:
        return f"at most {high}" if low is None else f"at least {low}"
    return f"{low} to {high}"


def rule_name(rule: RecipeRule) -> str:
    """Name of what a rule limits, with its level and role."""
    known = FEATURES[Feature(rule.feature)]
    level = ""
    if rule.level is not None and known.level_unit and known.level_kind:
        level = f", level {plain(rule.level, known.level_unit, known.level_kind):g} {shown_unit(known.level_unit)}"
    return f"{known.words[0].upper()}{known.words[1:]}{level}" + (f", {rule.role}" if rule.role else "")


def shown_unit(unit: str) -> str:
    """A unit as people write it."""
    return {"degC": "°C", "degC/min": "°C/min", "pc": "pcs", "1": ""}.get(unit, unit)


def check_row(check: AssessmentCheck) -> CheckRow:
    """A check in plain words."""
    feature = Feature(check.rule.feature)
    got = "" if check.got is None else f"{bound_of(feature, check.got):.4g}"
    unit = shown_unit(FEATURES[feature].unit)
    return CheckRow(rule_name(check.rule), got, limits_words(check.rule), unit, check.verdict, check.words)


@dataclass(frozen=True)
class RunRow:
    """A run in the list."""

    run: Run
    units: tuple[str, ...]
    assessment: Assessment | None
    decision: RunDecision | None
    logs: int

    @property
    def state(self) -> str:
        """What the list says of it."""
        if self.decision and self.assessment and self.decision.assessment_id == self.assessment.pk:
            return "accept" if self.decision.choice == RunDecision.Choice.ACCEPT else "failed"
        return self.assessment.verdict if self.assessment else "missing"

    @property
    def waits(self) -> bool:
        """Whether a person still has to decide on it."""
        return self.state in (Assessment.Verdict.OUTSIDE, Assessment.Verdict.NOT_SHOWN)


def run_rows(kind: str = "", most: int = 200) -> list[RunRow]:
    """Runs, those that wait for a decision first, then the latest; five queries whatever their number."""
    runs = Run.objects.newest().select_related("place__station", "place__party").order_by("-began_at", "-pk")
    if kind:
        runs = runs.filter(kind=kind)
    shown = list(runs[:most])
    lines = [run.line for run in shown]
    units: dict[int, list[str]] = defaultdict(list)
    for run, code in RunUnit.objects.filter(run_id__in=lines).order_by("pk").values_list("run_id", "unit__state__code"):
        units[run].append(code)
    assessments = {a.run_id: a for a in Assessment.objects.filter(run_id__in=lines).order_by("pk")}
    decisions = {d.run_id: d for d in RunDecision.objects.filter(run_id__in=lines).order_by("pk")}
    logs: dict[int, int] = defaultdict(int)
    for run in Log.objects.filter(run_id__in=lines).values_list("run_id", flat=True):
        logs[run] += 1
    rows = [
        RunRow(run, tuple(units[run.line]), assessments.get(run.line), decisions.get(run.line), logs[run.line])
        for run in shown
    ]
    return sorted(rows, key=lambda row: not row.waits)


@dataclass(frozen=True)
class RunPage:
    """Everything that a run's page shows."""

    run: Run
    units: list[str]
    finding: str
    assessment: Assessment | None
    decision: RunDecision | None
    is_open: bool
    checks: list[CheckRow]
    phases: list[AssessmentPhase]
    log: Log | None
    channels: list[LogChannel]
    picture: drawing.CurvePicture | None
    hold: drawing.CurvePicture | None
    table: list[tuple[str, list[str]]]


def run_page(run: Run) -> RunPage:
    """A run with its newest file, judgement and decision."""
    standing = standing_of_run(run)
    units = list(RunUnit.objects.filter(run_id=run.line).order_by("pk").values_list("unit__state__code", flat=True))
    found = standing.assessment
    checks = list(found.checks.select_related("rule").order_by("pk")) if found else []
    phases = list(found.phases.order_by("from_at", "pk")) if found else []
    newest = Log.objects.filter(run_id=run.line).select_related("recorder").order_by("-pk").first()
    log = found.log if found else newest
    channels = list(log.channels.order_by("n")) if log else []
    curve = curve_of(log) if log else None
    picture = picture_of(log, channels, curve, phases, checks) if log and curve else None
    hold = hold_of(log, channels, curve, phases) if log and curve else None
    table = table_of(channels, curve) if curve else []
    rows = [check_row(check) for check in checks]
    finding = finding_of(run, rows, found, newest is not None)
    return RunPage(
        run,
        units,
        finding,
        found,
        standing.decision,
        standing.is_open,
        rows,
        phases,
        log,
        channels,
        picture,
        hold,
        table,
    )


def finding_of(run: Run, checks: Iterable[CheckRow], assessment: Assessment | None, has_log: bool) -> str:
    """The head of the page: the worst of the run first."""
    if assessment is None:
        return f"{run.code} waits to be judged" if has_log else f"{run.code} has no recorder file yet"
    outside = [check.name.split(",")[0] for check in checks if check.verdict == Assessment.Verdict.OUTSIDE]
    hidden = [check.name.split(",")[0] for check in checks if check.verdict == Assessment.Verdict.NOT_SHOWN]
    if outside:
        more = f" and {len(outside) - 1} more" if len(outside) > 1 else ""
        return f"{outside[0]}{more} outside the recipe"
    if hidden:
        return f"{hidden[0]} can’t be shown from this file"
    edge = " near an edge" if assessment.verdict == Assessment.Verdict.EDGE else ""
    return f"{run.code} is within its recipe{edge}"


def picture_of(
    log: Log,
    channels: list[LogChannel],
    curve: Curve,
    phases: list[AssessmentPhase],
    checks: list[AssessmentCheck],
) -> drawing.CurvePicture | None:
    """The curve of a log, a panel for each quantity and unit, with phases and time outside."""
    grouped: dict[tuple[str, str], list[drawing.Series]] = defaultdict(list)
    for channel in channels:
        values = curve.channels.get(f"{channel.name} ({channel.n})")
        if values is not None and channel.quantity not in NOT_DRAWN:
            grouped[channel.quantity, channel.unit].append(drawing.Series(channel.name, list(values)))
    quantities = [
        drawing.Quantity(quantity.replace("-", " ").capitalize(), shown_unit(unit), series)
        for (quantity, unit), series in grouped.items()
    ]
    start = log.first_at

    def stretch(name: str, begin: datetime | None, end: datetime | None) -> list[drawing.Stretch]:
        if start is None or begin is None or end is None:
            return []
        return [drawing.Stretch(name, (begin - start).total_seconds(), (end - start).total_seconds())]

    bad = [c for c in checks if c.verdict == Assessment.Verdict.OUTSIDE]
    named = [s for p in phases for s in stretch(p.name, p.from_at, p.to_at)]
    outside = [s for c in bad for s in stretch(rule_name(c.rule), c.from_at, c.to_at)]
    return drawing.draw(list(curve.seconds), quantities, named, outside)


def hold_of(
    log: Log, channels: list[LogChannel], curve: Curve, phases: list[AssessmentPhase]
) -> drawing.CurvePicture | None:
    """The hold of a leak test on a scale of its own, so that a leak and outgassing can be told apart."""
    found = next((phase for phase in phases if phase.name == "hold"), None)
    if found is None or log.first_at is None:
        return None
    start, stop = ((at - log.first_at).total_seconds() for at in (found.from_at, found.to_at))
    rows = [n for n, second in enumerate(curve.seconds) if start <= second <= stop]
    part = Curve(curve.seconds[rows], {name: values[rows] for name, values in curve.channels.items()})
    return picture_of(log, channels, part, [], []) if rows else None


def table_of(channels: list[LogChannel], curve: Curve) -> list[tuple[str, list[str]]]:
    """Readings as a table, thinned evenly where there are many; the file as sent has them all."""
    step = -(-len(curve.seconds) // MOST_ROWS_SHOWN) or 1
    names = [f"{channel.name} ({channel.n})" for channel in channels]
    rows = []
    for n in range(0, len(curve.seconds), step):
        values = [curve.channels[name][n] for name in names if name in curve.channels]
        rows.append((f"{curve.seconds[n] / 60:.1f}", ["" if value != value else f"{value:.5g}" for value in values]))
    return rows
