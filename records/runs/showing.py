"""A run as its page tells it: the finding, each check in plain units, the curve with what the checks found."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import QuerySet

from plant.catalogue.models import RecipeRule
from records.items.queries import holds_on

from . import drawing
from .assessing.features import FEATURES, Feature
from .finding import finding_of
from .models import Assessment, AssessmentCheck, Log, LogChannel, Run, RunDecision, RunUnit
from .packing import Curve
from .picturing import PhaseRow, hold_of, phase_rows, picture_of, shown_unit
from .queries import curve_of, standing_of_run
from .recipes import bound_of, plain

MOST_ROWS_SHOWN = 120
MOST_RUNS = 5000  # the latest of so many runs; older ones are found by unit, kind or day


@dataclass(frozen=True)
class CheckRow:
    """One rule against what the curve shows, in plain words."""

    name: str
    got: str
    allowed: str
    unit: str
    verdict: str
    words: str
    side: str = ""


def limits_words(rule: RecipeRule) -> str:
    """Limits of a rule in the unit of its feature, "at least 45 min"."""
    feature = Feature(rule.feature)
    low, high = (None if s is None else f"{bound_of(feature, s):.6g}" for s in (rule.lower, rule.upper))
    if low is None or high is None:
        return f"at most {high}" if low is None else f"at least {low}"
    return f"{low} to {high}"


def limits_signs(rule: RecipeRule) -> str:
    """Limits of a rule with signs: "≥ 45", "0.5–1"."""
    return limits_words(rule).replace("at least ", "≥ ").replace("at most ", "≤ ").replace(" to ", "–")


def rule_name(rule: RecipeRule) -> str:
    """Name of what a rule limits, with its level and role."""
    known = FEATURES[Feature(rule.feature)]
    level = ""
    if rule.level is not None and known.level_unit and known.level_kind:
        level = f", level {plain(rule.level, known.level_unit, known.level_kind):g} {shown_unit(known.level_unit)}"
    return f"{known.words[0].upper()}{known.words[1:]}{level}" + (f", {rule.role}" if rule.role else "")


def shown(value: float) -> str:
    """A result with four figures, and no more than two behind the point.

    Examples
    --------
    >>> shown(1 / 3), shown(80.8), shown(45.0), shown(1013.2)
    ('0.33', '80.8', '45', '1013')
    """
    return f"{round(value, 2):.4g}"


def check_row(check: AssessmentCheck) -> CheckRow:
    """A check in plain words; limits with signs, as a table has no room for words."""
    feature = Feature(check.rule.feature)
    got = "" if check.got is None else shown(bound_of(feature, check.got))
    unit = shown_unit(FEATURES[feature].unit)
    words = check.words.replace("degC", shown_unit("degC"))
    return CheckRow(rule_name(check.rule), got, limits_signs(check.rule), unit, check.verdict, words, side_of(check))


def side_of(check: AssessmentCheck) -> str:
    """On which side of its limits a result outside lies."""
    if check.verdict != Assessment.Verdict.OUTSIDE or check.got is None:
        return ""
    return "outside-low" if check.rule.lower is not None and check.got < check.rule.lower else "outside-high"


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
    def place_word(self) -> str:
        return str(self.run.place) if self.run.place else ""

    @property
    def waits(self) -> bool:
        """Whether a person still has to decide on it."""
        return self.state in (Assessment.Verdict.OUTSIDE, Assessment.Verdict.NOT_SHOWN)


def run_rows(runs: QuerySet[Run], most: int = MOST_RUNS) -> list[RunRow]:
    """Runs, those that wait for a decision first, then the latest; five queries whatever their number."""
    runs = runs.select_related("place__station", "place__party").order_by("-began_at", "-pk")
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
    held: list[str]
    finding: str
    assessment: Assessment | None
    decision: RunDecision | None
    is_open: bool
    checks: list[CheckRow]
    phases: list[PhaseRow]
    log: Log | None
    channels: list[LogChannel]
    picture: drawing.CurvePicture | None
    hold: drawing.CurvePicture | None
    table: list[tuple[str, list[str]]]

    @property
    def side(self) -> str:
        """On which side the first result outside lies."""
        return next((check.side for check in self.checks if check.side), "outside")


def run_page(run: Run) -> RunPage:
    """A run with its newest file, judgement and decision."""
    standing = standing_of_run(run)
    units = dict(RunUnit.objects.filter(run_id=run.line).order_by("pk").values_list("unit_id", "unit__state__code"))
    held = {hold.item_id for hold in holds_on(units)}
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
    finding = finding_of(run, checks, found, has_log=newest is not None)
    return RunPage(
        run,
        list(units.values()),
        [code for unit, code in units.items() if unit in held],
        finding,
        found,
        standing.decision,
        standing.is_open,
        rows,
        phase_rows(phases),
        log,
        channels,
        picture,
        hold,
        table,
    )


def table_of(channels: list[LogChannel], curve: Curve) -> list[tuple[str, list[str]]]:
    """Readings as a table, thinned evenly where there are many; the file as sent has them all."""
    step = -(-len(curve.seconds) // MOST_ROWS_SHOWN) or 1
    names = [f"{channel.name} ({channel.n})" for channel in channels]
    rows = []
    for n in range(0, len(curve.seconds), step):
        values = [curve.channels[name][n] for name in names if name in curve.channels]
        rows.append((f"{curve.seconds[n] / 60:.1f}", ["" if value != value else f"{value:.5g}" for value in values]))
    return rows
