"""Reads of runs: by code, with their curves and what was decided."""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from functools import lru_cache

from plant.codes import fold
from records.ledger.refusals import Refused

from .models import Assessment, Log, LogBytes, Run, RunDecision
from .packing import Curve, unpack
from .reading import RecorderLog, continuing, read_log


def run_by_code(code: str) -> Run:
    """Run by its code, newest version. Refuses ``unknown``."""
    run = Run.objects.newest().filter(code=fold(code)).first()
    if run is None:
        raise Refused("unknown", "No run %(code)s is on file. Look again.", code=fold(code))
    return run


@lru_cache(maxsize=2)
def reading_of(raw: bytes, name: str, zone: str) -> RecorderLog:
    """What a file says. The last ones are kept, since a run is judged just after its file was read in."""
    log = read_log(raw, name=name, zone=zone or None)
    arrays = [log.times, log.seconds, log.lines, *(channel.values for channel in log.channels)]
    for array in arrays:
        if array is not None:
            array.flags.writeable = False
    return log


def log_of(log: Log) -> RecorderLog:
    """A stored file read again, from its own bytes."""
    raw = zlib.decompress(bytes(LogBytes.objects.get(log=log).raw))
    return reading_of(raw, log.name, log.zone)


def record_of(run: Run) -> tuple[Log, RecorderLog] | None:
    """The newest file of a run, and what it says together with the earlier downloads that it continues.

    None without a file.
    """
    logs = list(Log.objects.filter(run_id=run.line).order_by("pk"))
    return (logs[-1], continuing([log_of(log) for log in logs])) if logs else None


def curve_of(log: Log) -> Curve:
    """Packed curve of a log, for drawing."""
    return unpack(bytes(LogBytes.objects.get(log=log).block))


@dataclass(frozen=True)
class RunStanding:
    """A run with its newest assessment and what a person decided on it."""

    run: Run
    assessment: Assessment | None
    decision: RunDecision | None

    @property
    def is_open(self) -> bool:
        """Whether a person still has to decide: judged, not plainly within, and nothing decided since."""
        if self.assessment is None:
            return False
        good = self.assessment.verdict in (Assessment.Verdict.WITHIN, Assessment.Verdict.EDGE)
        return not good and (self.decision is None or self.decision.assessment_id != self.assessment.pk)


def standing_of_run(run: Run) -> RunStanding:
    """Newest assessment and decision of a run."""
    line = run.line
    assessment = Assessment.objects.filter(run_id=line).select_related("recipe_revision", "log").order_by("-pk").first()
    decision = RunDecision.objects.filter(run_id=line).order_by("-pk").first()
    return RunStanding(run, assessment, decision)


def open_runs() -> list[RunStanding]:
    """Runs that wait for a decision, the oldest first; three queries whatever their number."""
    newest: dict[int, Assessment] = {}
    for assessment in Assessment.objects.select_related("run", "recipe_revision").order_by("pk"):
        newest[assessment.run_id] = assessment
    decided = dict(RunDecision.objects.order_by("pk").values_list("run_id", "assessment_id"))
    good = (Assessment.Verdict.WITHIN, Assessment.Verdict.EDGE)
    waiting = [a for a in newest.values() if a.verdict not in good and decided.get(a.run_id) != a.pk]
    return [RunStanding(a.run, a, None) for a in sorted(waiting, key=lambda a: a.run.began_at)]
