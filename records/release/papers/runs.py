"""The runs that a unit was in, with their curves, checks and decisions; as many queries for one run as for ten."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from plant.catalogue.models import RecipeRevision
from plant.people.letterhead import at_works
from records.ledger.marks import Mark
from records.ledger.patterns import Version
from records.runs.drawing import CurvePicture
from records.runs.models import (
    Assessment,
    AssessmentCheck,
    AssessmentPhase,
    Log,
    LogBytes,
    LogChannel,
    Run,
    RunDecision,
    RunUnit,
)
from records.runs.packing import unpack
from records.runs.showing import CheckRow, check_row, finding_of, hold_of, picture_of


@dataclass(frozen=True)
class DecisionTold:
    """What a person decided on a run."""

    state: str
    word: str
    by: str
    why: str


@dataclass(frozen=True)
class RunTold:
    """One run as a dossier tells it."""

    code: str
    kind: str
    finding: str
    units: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    verdict: str
    recipe: RecipeRevision | None
    checks: tuple[CheckRow, ...]
    decided: DecisionTold | None
    picture: CurvePicture | None
    hold: CurvePicture | None


def runs_of(units: Iterable[int], mark: Mark) -> list[RunTold]:
    """Runs of units in order of time, as known at a mark."""
    lines = RunUnit.objects.known(mark).filter(unit__in=list(units)).values_list("run_id", flat=True)
    wanted = set(lines)
    rows = Run.objects.newest(mark).filter(Q(pk__in=wanted) | Q(first__in=wanted))
    runs = list(rows.select_related("place__station", "place__party").order_by("began_at", "pk"))
    found = _Found(sorted(wanted), mark)
    return [found.told(run) for run in runs]


class _Found:
    """Everything that stands under some runs, read table by table."""

    def __init__(self, lines: list[int], mark: Mark) -> None:
        units = RunUnit.objects.known(mark).filter(run__in=lines).select_related("unit__state")
        self._units = _by(units.order_by("pk"), "run_id")
        judged = Assessment.objects.known(mark).filter(run__in=lines)
        judged = judged.select_related("recipe_revision__proposal__approval__approver__name_words", "log__recorder")
        self._assessments = {row.run_id: row for row in judged.order_by("pk")}
        decided = RunDecision.objects.known(mark).filter(run__in=lines)
        decided = decided.select_related("entry__by__name_words", "words")
        self._decisions = {row.run_id: row for row in decided.order_by("pk")}
        logs = Log.objects.known(mark).filter(run__in=lines).select_related("recorder")
        self._logs = {row.run_id: row for row in logs.order_by("pk")}
        # What was judged is drawn, not a file that came later.
        self._logs |= {run: assessment.log for run, assessment in self._assessments.items()}
        numbers = [assessment.pk for assessment in self._assessments.values()]
        checks = AssessmentCheck.objects.filter(assessment__in=numbers).select_related("rule")
        self._checks = _by(checks.order_by("pk"), "assessment_id")
        phases = AssessmentPhase.objects.filter(assessment__in=numbers)
        self._phases = _by(phases.order_by("from_at", "pk"), "assessment_id")
        shown = [log.pk for log in self._logs.values()]
        self._channels = _by(LogChannel.objects.filter(log__in=shown).order_by("n"), "log_id")
        blocks = LogBytes.objects.filter(log__in=shown).values_list("log_id", "block")
        self._curves = {log: unpack(bytes(block)) for log, block in blocks}

    def told(self, run: Run) -> RunTold:
        """One of the runs."""
        line = run.line
        assessment, log = self._assessments.get(line), self._logs.get(line)
        checks = self._checks[assessment.pk] if assessment else []
        phases = self._phases[assessment.pk] if assessment else []
        channels, curve = (self._channels[log.pk], self._curves.get(log.pk)) if log else ([], None)
        rows = [check_row(check) for check in checks]
        finding = finding_of(run, checks, assessment, has_log=log is not None)
        if run.status == Version.Status.WITHDRAWN:
            finding = f"{run.code} was withdrawn; what follows is as it was told"
        return RunTold(
            code=run.code,
            kind=run.get_kind_display(),
            finding=finding,
            units=tuple(row.unit.code for row in self._units[line]),
            facts=tuple(_facts(run, assessment, log)),
            verdict=assessment.verdict if assessment else "missing",
            recipe=assessment.recipe_revision if assessment else None,
            checks=tuple(rows),
            decided=self._decided(line, assessment),
            picture=picture_of(log, channels, curve, phases, checks) if log and curve else None,
            hold=hold_of(log, channels, curve, phases) if log and curve else None,
        )

    def _decided(self, line: int, assessment: Assessment | None) -> DecisionTold | None:
        decision = self._decisions.get(line)
        if decision is None:
            return None
        state = "accept" if decision.choice == RunDecision.Choice.ACCEPT else "reject"
        # A decision speaks of one judgement; a later judgement waits for another.
        word = decision.get_choice_display().capitalize()
        if assessment is None or decision.assessment_id != assessment.pk:
            state, word = "signal", f"{word}, before it was judged again"
        by = f"{decision.entry.by.name}, {at_works(decision.entry.happened_at)}"
        return DecisionTold(state, word, by, str(decision.words or ""))


def _facts(run: Run, assessment: Assessment | None, log: Log | None) -> Iterator[tuple[str, str]]:
    span = f"{at_works(run.began_at)} to {at_works(run.ended_at)}" if run.ended_at else at_works(run.began_at)
    yield "Where and when", ", ".join(word for word in (str(run.place or ""), span) if word)
    if assessment is not None:
        yield "Judged under", str(assessment.recipe_revision)
    if log is None:
        yield "Recorder file", "none on file"
        return
    recorder = f"{log.recorder.code}, " if log.recorder else ""
    aside = f", {log.rows_set_aside} set aside" if log.rows_set_aside else ""
    yield "Recorder file", f"{log.name}, {recorder}{log.rows} rows{aside}"
    yield "SHA-256 of the file", log.sha256


def _by(rows: Iterable[Any], column: str) -> defaultdict[int, list[Any]]:
    found: defaultdict[int, list[Any]] = defaultdict(list)
    for row in rows:
        found[getattr(row, column)].append(row)
    return found
