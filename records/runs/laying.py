"""Up to four runs laid over each other on one clock: a line a run, and their checks side by side."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from plant.codes import fold

from . import drawing
from .finding import finding_of
from .models import Assessment, AssessmentCheck, Log, LogChannel, Run, RunUnit
from .packing import Curve, Floats
from .picturing import NOT_DRAWN, shown_unit
from .queries import curve_of, standing_of_run
from .showing import CheckRow, check_row

MOST = drawing.MOST_SERIES
FIRST_ROW = "first-row"


@dataclass(frozen=True)
class Laid:
    """One of the runs: its newest judgement, and its curve on its own clock."""

    run: Run
    units: tuple[str, ...]
    finding: str
    verdict: str
    log: Log
    curve: Curve
    channels: tuple[LogChannel, ...]
    phases: dict[str, float]
    checks: tuple[CheckRow, ...]
    dash: int

    def bands(self) -> dict[tuple[str, str], list[Floats]]:
        """Channels that can be drawn, by quantity and unit."""
        found: dict[tuple[str, str], list[Floats]] = defaultdict(list)
        for channel in self.channels:
            values = self.curve.channels.get(f"{channel.name} ({channel.n})")
            if values is not None and channel.quantity not in NOT_DRAWN:
                found[channel.quantity, channel.unit].append(values)
        return found


@dataclass(frozen=True)
class Compared:
    """One check and what each run got of it; nothing where a recipe does not ask it."""

    name: str
    unit: str
    cells: tuple[CheckRow | None, ...]

    @property
    def differs(self) -> bool:
        """Whether the verdicts differ."""
        return len({cell.verdict for cell in self.cells if cell}) > 1


@dataclass(frozen=True)
class LaidPage:
    """Runs on one clock that begins for each at the same event."""

    runs: tuple[Laid, ...]
    left_out: tuple[str, ...]
    zero: str
    zeros: tuple[str, ...]

    @cached_property
    def picture(self) -> drawing.CurvePicture | None:
        return _picture(self.runs, self.zero)

    @cached_property
    def compared(self) -> list[Compared]:
        """Checks of all runs in the order of the first that has them."""
        names = dict.fromkeys((check.name, check.unit) for laid in self.runs for check in laid.checks)
        by_name = [{(check.name, check.unit): check for check in laid.checks} for laid in self.runs]
        return [Compared(name, unit, tuple(of.get((name, unit)) for of in by_name)) for name, unit in names]

    @property
    def finding(self) -> str:
        """The head: how many of them are not within."""
        if not self.runs:
            return "Name the runs that are to be laid over each other"
        if len(self.runs) == 1:
            return f"{self.runs[0].run.code} alone: name another run"
        codes = {
            verdict: [laid.run.code for laid in self.runs if laid.verdict == verdict]
            for verdict in (Assessment.Verdict.OUTSIDE, Assessment.Verdict.NOT_SHOWN, "missing")
        }
        of = f"of {len(self.runs)} runs"
        told = [
            f"{_listed(codes[verdict])} {words}"
            for verdict, words in (
                (Assessment.Verdict.OUTSIDE, "outside the recipe"),
                (Assessment.Verdict.NOT_SHOWN, "not shown by the file"),
                ("missing", "not judged"),
            )
            if codes[verdict]
        ]
        return f"{'; '.join(told)}, {of}" if told else f"{len(self.runs)} runs, each within its recipe"

    @property
    def zero_words(self) -> str:
        return "its first row" if self.zero == FIRST_ROW else f"the beginning of its {self.zero}"


def _listed(codes: Sequence[str]) -> str:
    return codes[0] if len(codes) == 1 else f"{', '.join(codes[:-1])} and {codes[-1]}"


def lay_over(codes: Iterable[str], zero: str = "") -> LaidPage:
    """Runs by their codes on one clock; what can't be laid with the others is told in a sentence each.

    ``zero`` is the event at which each clock begins: a phase that was found in all of them, or the first row. Without
    one it is the first phase but one that all have, since the first begins where somebody switched the recorder on.
    """
    runs, left_out = _found(codes)
    laid: list[Laid] = []
    for run in runs:
        one = _laid(run, dash=len(laid) + 1)
        if isinstance(one, str):
            left_out.append(one)
        else:
            laid.append(one)
    common = [name for name in (laid[0].phases if laid else ()) if all(name in other.phases for other in laid)]
    zeros = (FIRST_ROW, *common)
    if zero not in zeros:
        zero = zeros[min(2, len(zeros) - 1)]
    return LaidPage(tuple(laid), tuple(left_out), zero, zeros)


def _found(codes: Iterable[str]) -> tuple[list[Run], list[str]]:
    asked = list(dict.fromkeys(fold(code) for code in codes if code.strip()))
    known = {run.code: run for run in Run.objects.newest().filter(code__in=asked).select_related("place__station")}
    runs = [known[code] for code in asked if code in known]
    left_out = [f"No run {code} is on file. Look again." for code in asked if code not in known]
    others = [run for run in runs if run.kind != runs[0].kind]
    left_out += [
        f"{run.code} is a {run.get_kind_display()}: only runs of one kind share a clock with {runs[0].code}."
        for run in others
    ]
    alike = [run for run in runs if run not in others]
    left_out += [f"{run.code} is left out: {MOST} lines are the most that can be told apart." for run in alike[MOST:]]
    return alike[:MOST], left_out


def _laid(run: Run, dash: int) -> Laid | str:
    """A run with its curve, or why it can't be drawn."""
    standing = standing_of_run(run)
    found = standing.assessment
    log = found.log if found else Log.objects.filter(run_id=run.line).order_by("-pk").first()
    if log is None:
        return f"{run.code} has no recorder file."
    curve = curve_of(log)
    if len(curve.seconds) < 2:
        return f"{run.code}: its file holds too few rows to be drawn."
    units = tuple(RunUnit.objects.filter(run_id=run.line).order_by("pk").values_list("unit__state__code", flat=True))
    checks: list[AssessmentCheck] = list(found.checks.select_related("rule").order_by("pk")) if found else []
    phases: dict[str, float] = {}
    if found and log.first_at is not None:
        for phase in found.phases.order_by("from_at", "pk"):
            phases.setdefault(phase.name, (phase.from_at - log.first_at).total_seconds())
    return Laid(
        run,
        units,
        finding_of(run, checks, found, has_log=True),
        found.verdict if found else "missing",
        log,
        curve,
        tuple(log.channels.order_by("n")),
        phases,
        tuple(check_row(check) for check in checks),
        dash,
    )


def _picture(runs: Sequence[Laid], zero: str) -> drawing.CurvePicture | None:
    """A panel for each quantity; of a run's several probes the lowest and the highest at each moment."""
    if not runs:
        return None
    clocks = {laid.run.code: laid.curve.seconds - laid.phases.get(zero, 0.0) for laid in runs}
    bands = {laid.run.code: laid.bands() for laid in runs}
    quantities = []
    for quantity, unit in dict.fromkeys(key for laid in runs for key in bands[laid.run.code]):
        several = any(len(bands[laid.run.code].get((quantity, unit), ())) > 1 for laid in runs)
        title = quantity.replace("-", " ").capitalize()
        for word, of in (("lowest", np.fmin), ("highest", np.fmax)) if several else (("", np.fmin),):
            series = [
                drawing.Series(laid.run.code, list(of.reduce(values)), list(clocks[laid.run.code]), laid.dash)
                for laid in runs
                if (values := bands[laid.run.code].get((quantity, unit)))
            ]
            name = f"{title}, {word} of a run’s probes" if word else title
            quantities.append(drawing.Quantity(name, shown_unit(unit), series))
    ends = [float(end) for clock in clocks.values() for end in (clock[0], clock[-1])]
    return drawing.draw([min(ends), max(ends)], quantities)
