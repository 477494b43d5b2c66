"""What can happen to runs: one is recorded, its recorder file read, judged under a recipe, decided by a person."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256

from plant.catalogue.models import RecipeRule
from plant.catalogue.queries import recipe_in_force
from plant.codes import fold
from plant.equipment.models import Recorder
from plant.people.queries import works_zone
from plant.quantities import Quantity
from records.items.actions.metering import metered
from records.items.actions.pots import Weighing
from records.items.gates import hold_by_cause
from records.items.locking import lock_items
from records.items.making import Input, next_code, place_named, unit_for
from records.items.models import Evidence, Item, Loss
from records.ledger.acts import Act, Free, Said, act
from records.ledger.memory import remembered
from records.ledger.refusals import Conflict, Refused
from records.ledger.words import keep_words
from records.steps.by_recorder import note_checks

from .assessing import Assessment as Judged
from .assessing import Check, RoleUnknown, assess_log
from .metering import NoMass, mass_of_shot
from .models import (
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
from .packing import Curve, pack
from .queries import reading_of, record_of, run_by_code, standing_of_run
from .reading import NotALog, RecorderLog
from .recipes import recipe_of, rules_of, steps_of_result

FAILED = "run-failed"


@dataclass(frozen=True)
class Pass:
    """One pass through a process: which, with which units, where, from when to when."""

    kind: str
    units: Sequence[str]
    began_at: datetime
    ended_at: datetime | None = None
    station: str = ""


def record_run(told: Pass, *, said: Said) -> Run:
    """Record a run with the units in it. Refuses ``unknown``, ``wrong-kind`` and ``ends-before-it-begins``."""
    units = [fold(code) for code in told.units]
    stated = {"run_kind": told.kind, "units": units, "began_at": told.began_at, "ended_at": told.ended_at}
    with act("run recorded", said, **stated, station=told.station.strip()) as a:
        if a.made:
            return Run.objects.get(entry=a.entry)
        if told.kind not in Run.Kind.values:
            raise Refused("wrong-kind", "%(kind)s is no kind of run. Choose one from the list.", kind=told.kind)
        if told.ended_at is not None and told.ended_at < told.began_at:
            raise Refused("ends-before-it-begins", "The run ends before it begins. Write the times again.")
        items = [unit_for(code) for code in told.units]
        if not items:
            raise Refused("unknown", "Say which units were in the run.")
        lock_items(items)
        place = place_named(a, told.station)
        run = a.write(
            Run(code=next_code(a, "RN"), kind=told.kind, place=place, began_at=told.began_at, ended_at=told.ended_at)
        )
        a.write_all(RunUnit(run=run, unit=item) for item in items)
        return run


@dataclass(frozen=True)
class LogFile:
    """A recorder file as it was sent."""

    name: str
    raw: bytes
    recorder: str = ""
    zone: str = ""


def read_log_file(run: str, file: LogFile, *, said: Said) -> Log:
    """Read a recorder file into a run: its bytes are kept as sent, with what was found in them.

    Refuses ``not-a-log`` with the sentence why, ``file-known`` for a file that is on file already, ``unknown``.
    """
    digest = sha256(file.raw).hexdigest()
    found, recorder, zone = _understood(file)
    with act("log read", said, run=fold(run), sha256=digest, recorder=fold(file.recorder), zone=file.zone) as a:
        if a.made:
            return Log.objects.get(entry=a.entry)
        into = run_by_code(run)
        _stop_twin(digest)
        return _keep(a, into, file, found, recorder, zone)


def understand(file: LogFile, zone: str) -> RecorderLog:
    """A file read before the act, since it is slow. Refuses ``not-a-log``."""
    try:
        return reading_of(file.raw, file.name, zone)
    except NotALog as wrong:
        raise Refused("not-a-log", "%(words)s", words=str(wrong)) from wrong


def recorder_by_code(code: str) -> Recorder:
    """Recorder by its code. Refuses ``unknown``."""
    recorder = remembered((Recorder, fold(code)), lambda: Recorder.objects.filter(code=fold(code)).first())
    if recorder is None:
        raise Refused("unknown", "No recorder is called %(code)s here. Choose one.", code=fold(code))
    return recorder


def _keep(a: Act, run: Run, file: LogFile, found: RecorderLog, recorder: Recorder | None, zone: str) -> Log:
    names = [f"{channel.name} ({n})" for n, channel in enumerate(found.channels, start=1)]
    block = pack(Curve(found.seconds, {n: c.values for n, c in zip(names, found.channels, strict=True)}))
    log = a.write_only(
        Log(
            run_id=run.line,
            recorder=recorder,
            name=file.name[:120],
            sha256=found.sha256,
            block_sha256=sha256(block).hexdigest(),
            rows=found.rows,
            rows_set_aside=found.rows_set_aside,
            zone=found.zone or zone,
            first_at=stamp(found.first),
            last_at=stamp(found.last),
        ),
        overtaken=Conflict("file-known", "This file came in twice at once. It is on file; do not send it again."),
    )
    a.write_all(
        LogChannel(
            log=log,
            n=n,
            name=channel.name[:80],
            quantity=channel.quantity or "",
            unit=channel.unit or "",
            readings=channel.n,
            missing=channel.missing,
        )
        for n, channel in enumerate(found.channels, start=1)
    )
    a.write(LogBytes(log=log, raw=zlib.compress(file.raw, 6), block=block))
    return log


def stamp(told: str | float | None) -> datetime | None:
    """Instant of a stamp with an offset; none for one that can't be placed in time."""
    if not isinstance(told, str):
        return None
    moment = datetime.fromisoformat(told)
    return moment.astimezone(UTC) if moment.tzinfo else None


def meter_pot(pot: str, *, mix: str, lots: Mapping[str, str], file: LogFile, station: str = "", said: Said) -> Item:
    """A metering machine's shot as a pot: the masses come from its log, which is kept with it.

    ``lots`` names for each channel the tank, or the lot that was on the machine. The file of a pot that was taken back
    may be told of another one. Refuses ``not-a-log``, ``no-mass``, ``file-known`` and as ``meter_masses``.
    """
    found, recorder, zone = _understood(file)
    try:
        masses = {channel: mass_of_shot(found, channel) for channel in lots}
    except NoMass as wrong:
        raise Refused("no-mass", "%(words)s", words=str(wrong)) from wrong
    inputs = [Input(lots[channel], Quantity(steps, "mass")) for channel, steps in masses.items()]
    stated = {"mix": mix, "inputs": [wanted.as_read() for wanted in inputs], "sha256": found.sha256}
    with act("pot metered", said, pot=fold(pot), **stated, station=station.strip()) as a:
        if a.made:
            return Item.objects.filter(entry=a.entry).latest("pk")
        run = _run_to_tell_again(found.sha256)
        if run is None:
            _stop_twin(found.sha256)
            code = next_code(a, "RN")
            run = a.write(Run(code=code, kind=Run.Kind.METERING, place=place_named(a, station), began_at=a.at))
            _keep(a, run, file, found, recorder, zone)
        item = metered(a, pot, mix, inputs, Weighing(station=station))
        a.write(RunUnit(run=run, unit=item))
        return item


def _understood(file: LogFile) -> tuple[RecorderLog, Recorder | None, str]:
    """A file as it is read, with its recorder and the zone of that one's clock."""
    recorder = recorder_by_code(file.recorder) if file.recorder.strip() else None
    zone = file.zone or (recorder.zone if recorder else "") or works_zone().key
    return understand(file, zone), recorder, zone


def last_reading_of(file: LogFile) -> datetime | None:
    """When the last reading of a log was taken; none where it tells no time. Refuses ``not-a-log``."""
    return stamp(_understood(file)[0].last)


def _run_to_tell_again(digest: str) -> Run | None:
    """Run of a shot whose every pot was taken back as never made: its file is on file and names no pot now."""
    log = Log.objects.filter(sha256=digest, run__kind=Run.Kind.METERING).select_related("run").first()
    if log is None:
        return None
    pots = RunUnit.objects.filter(run_id=log.run.line)
    never = Loss.objects.standing().filter(kind=Loss.Kind.NEVER)
    return None if pots.exclude(unit__in=never.values("item")).exists() else log.run


def _stop_twin(digest: str) -> None:
    """Refuse ``file-known`` for a file that is on file already: importing it again must not double it."""
    twin = Log.objects.filter(sha256=digest).select_related("run").first()
    if twin is not None:
        raise Conflict("file-known", "This file is on file already, in run %(run)s.", run=twin.run.code)


def assess_run(run: str, *, recipe: str, roles: Mapping[str, str] | None = None, said: Said) -> Assessment:
    """Judge a run's newest log under the recipe in force when it began; the verdict is told to the gates.

    Earlier downloads of the same recorder that the newest continues are judged with it, each reading once. Refuses
    ``unknown`` for a run without a log or a recipe that is not in force.
    """
    into = run_by_code(run)
    found = record_of(into)
    if found is None:
        raise Refused("unknown", "%(run)s has no recorder file yet. Read one in first.", run=into.code)
    revision = recipe_in_force(recipe, into.began_at)
    log, record = found
    try:
        judged = assess_log(record, recipe_of(revision), roles=roles)
    except RoleUnknown as wrong:
        raise Refused("unknown", "%(words)s", words=str(wrong)) from wrong
    stated = {"recipe": fold(recipe), "revision": revision.revision, "log": log.sha256, "roles": dict(roles or {})}
    with act("run assessed", said, run=fold(run), **stated) as a:
        if a.made:
            return Assessment.objects.get(entry=a.entry)
        units = [row.unit for row in RunUnit.objects.filter(run_id=into.line).select_related("unit__state")]
        lock_items(units)
        assessment = a.write(
            Assessment(run_id=into.line, log=log, recipe_revision=revision, verdict=judged.verdict.value)
        )
        _write_findings(a, assessment, judged, rules_of(revision), stamp(record.first) or a.at)
        _tell_gates(a, into, units, judged.verdict.value)
        _tell_checks(a, into, log, units, judged.verdict.value)
        return assessment


def _write_findings(a: Act, assessment: Assessment, judged: Judged, rules: list[RecipeRule], start: datetime) -> None:
    def moment(seconds: float | None) -> datetime | None:
        return None if seconds is None else start + timedelta(seconds=seconds)

    a.write_all(
        AssessmentPhase(
            assessment=assessment,
            name=phase.name,
            from_at=start + timedelta(seconds=phase.start_s),
            to_at=start + timedelta(seconds=phase.end_s),
        )
        for phase in judged.phases
    )
    a.write_all(
        AssessmentCheck(
            assessment=assessment,
            rule=rule,
            words=check.words[:240],
            got=_steps(check),
            unit_kind=rule.unit_kind,
            verdict=check.verdict.value,
            from_at=moment(check.start_s),
            to_at=moment(check.end_s),
        )
        for rule, check in zip(rules, judged.checks, strict=True)
    )


def _steps(check: Check) -> int | None:
    return None if check.got is None else steps_of_result(check.feature, check.got)


def _tell_gates(a: Act, run: Run, units: Sequence[Item], verdict: str) -> None:
    at = run.ended_at or run.began_at
    a.write_all(Evidence(item=unit, what="run", name=run.kind, verdict=verdict, at=at) for unit in units)
    if verdict == Evidence.Verdict.OUTSIDE:
        hold_by_cause(a, units, [FAILED])


def _tell_checks(a: Act, run: Run, log: Log, units: Sequence[Item], verdict: str) -> None:
    """A check of a closing that the recorder watched counts as the step; a curve that shows nothing is no check."""
    ended_at = run.ended_at or log.last_at
    if ended_at is not None and verdict != Evidence.Verdict.NOT_SHOWN:
        note_checks(a, units, run.kind, (run.began_at, ended_at), is_good=verdict != Evidence.Verdict.OUTSIDE)


def decide_run(run: str, *, choice: str, words: str, said: Said) -> RunDecision:
    """Decide on a run that was judged. An accepted run counts as within for the gates, a failed one as outside.

    Refuses ``unknown`` for a run that was not judged, and ``no-reason``.
    """
    with act("run decided", said, run=fold(run), choice=choice, words=Free(words)) as a:
        if a.made:
            return RunDecision.objects.get(entry=a.entry)
        standing = standing_of_run(run_by_code(run))
        if standing.assessment is None:
            raise Refused("unknown", "%(run)s was not judged yet.", run=standing.run.code)
        if choice not in RunDecision.Choice.values:
            raise Refused("unknown", "Choose what becomes of the run from the list.")
        if not words.strip():
            raise Refused("no-reason", "Write why. The auditor will read it.")
        units = [row.unit for row in RunUnit.objects.filter(run_id=standing.run.line).select_related("unit__state")]
        lock_items(units)
        decision = a.write(
            RunDecision(
                run_id=standing.run.line, assessment=standing.assessment, choice=choice, words=keep_words(words)
            )
        )
        accepted = choice == RunDecision.Choice.ACCEPT
        verdict = Evidence.Verdict.WITHIN if accepted else Evidence.Verdict.OUTSIDE
        at = said.happened_at
        a.write_all(Evidence(item=u, what="run", name=standing.run.kind, verdict=verdict, at=at) for u in units)
        _tell_checks(a, standing.run, standing.assessment.log, units, verdict)
        if not accepted:
            hold_by_cause(a, units, [FAILED])
        return decision
