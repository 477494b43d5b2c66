"""The picture of a run: its curve with the limits that the recipe sets, phases found, and time outside."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from plant.catalogue.models import RecipeRule

from . import drawing
from .assessing.features import FEATURES, SOAK_FEATURES, Feature
from .models import Assessment, AssessmentCheck, AssessmentPhase, Log, LogChannel
from .packing import Curve
from .recipes import bound_of, plain

NOT_DRAWN = ("", "other", "time")  # a valve or a counter has no axis
SOAK = "soak"
# Limits on the reading itself are lines of the panel; those on times, rates and differences stand in the table alone.
LINES = {
    Feature.PEAK: "hottest allowed",
    Feature.SOAK_HOTTEST: "hottest in the soak",
    Feature.SOAK_LOWEST: "lowest in the soak",
    Feature.END_TEMPERATURE: "at the end",
    Feature.ULTIMATE: "before the hold",
    Feature.HOLD_HIGHEST: "highest in the hold",
}


@dataclass(frozen=True)
class PhaseRow:
    """A phase from its first beginning to its last end, and the pieces that it was found in."""

    name: str
    pieces: tuple[tuple[datetime, datetime], ...]

    @property
    def from_at(self) -> datetime:
        return self.pieces[0][0]

    @property
    def to_at(self) -> datetime:
        return self.pieces[-1][1]

    @property
    def longest(self) -> timedelta:
        return max(stop - start for start, stop in self.pieces)

    @property
    def longest_words(self) -> str:
        seconds = self.longest.total_seconds()
        return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.1f} min"

    @property
    def between(self) -> list[tuple[datetime, datetime]]:
        """What lies between the pieces."""
        starts = [start for start, _ in self.pieces[1:]]
        return list(zip([stop for _, stop in self.pieces[:-1]], starts, strict=True))

    @property
    def word(self) -> str:
        return self.name if len(self.pieces) == 1 else f"{self.name}, {len(self.pieces)} pieces"


def phase_rows(phases: Iterable[AssessmentPhase]) -> list[PhaseRow]:
    """Phases in the order of their beginning, pieces of one name together."""
    found: dict[str, list[tuple[datetime, datetime]]] = defaultdict(list)
    for phase in phases:
        found[phase.name].append((phase.from_at, phase.to_at))
    return sorted((PhaseRow(name, tuple(pieces)) for name, pieces in found.items()), key=lambda row: row.from_at)


def picture_of(
    log: Log,
    channels: list[LogChannel],
    curve: Curve,
    phases: list[AssessmentPhase],
    checks: list[AssessmentCheck],
) -> drawing.CurvePicture | None:
    """The curve of a log, a panel for each quantity and unit, with limits, phases and time outside."""
    grouped: dict[tuple[str, str], list[drawing.Series]] = defaultdict(list)
    for channel in channels:
        values = curve.channels.get(f"{channel.name} ({channel.n})")
        if values is not None and channel.quantity not in NOT_DRAWN:
            grouped[channel.quantity, channel.unit].append(drawing.Series(channel.name, list(values)))
    limits = _limits(check.rule for check in checks)
    quantities = [
        drawing.Quantity(quantity.replace("-", " ").capitalize(), shown_unit(unit), series, limits.get(unit, ()))
        for (quantity, unit), series in grouped.items()
    ]
    start = log.first_at
    if start is None:
        return drawing.draw(list(curve.seconds), quantities)

    def stretch(name: str, begin: datetime, end: datetime) -> drawing.Stretch:
        return drawing.Stretch(name, (begin - start).total_seconds(), (end - start).total_seconds())

    rows = phase_rows(phases)
    named = [stretch(row.word, row.from_at, row.to_at) for row in rows]
    pieces = [stretch(row.name, *piece) for row in rows if len(row.pieces) > 1 for piece in row.pieces]
    outside = [stretch("", *span) for span in _outside(rows, checks)]
    return drawing.draw(list(curve.seconds), quantities, named, outside, pieces)


def _limits(rules: Iterable[RecipeRule]) -> dict[str, list[drawing.Limit]]:
    """Lines that the recipe sets on readings, by unit: limits of the reading itself, and the level of the soak."""
    found: dict[str, dict[float, drawing.Limit]] = defaultdict(dict)
    for rule in rules:
        feature = Feature(rule.feature)
        known = FEATURES[feature]
        if feature in SOAK_FEATURES and rule.level is not None and known.level_unit == "degC":
            level = plain(rule.level, "degC", "temperature")
            found["degC"].setdefault(level, drawing.Limit(level, f"soak from {level:g}"))
        if feature in LINES:
            for steps, word in ((rule.lower, "at least"), (rule.upper, "at most")):
                if steps is not None:
                    bound = bound_of(feature, steps)
                    found[known.unit][bound] = drawing.Limit(bound, f"{LINES[feature]}, {word} {bound:g}")
    return {unit: list(lines.values()) for unit, lines in found.items()}


def _outside(rows: list[PhaseRow], checks: list[AssessmentCheck]) -> list[tuple[datetime, datetime]]:
    """Stretches of the clock that break the recipe: an interrupted soak where it was interrupted."""
    found: list[tuple[datetime, datetime]] = []
    for check in checks:
        if check.verdict != Assessment.Verdict.OUTSIDE:
            continue
        soak = next((row for row in rows if row.name == SOAK and len(row.pieces) > 1), None)
        if Feature(check.rule.feature) == Feature.SOAK_COLDEST and soak:
            found += soak.between
        elif check.from_at and check.to_at:
            found.append((check.from_at, check.to_at))
    return found


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


def shown_unit(unit: str) -> str:
    """A unit as people write it."""
    return {"degC": "°C", "degC/min": "°C/min", "pc": "pcs", "1": ""}.get(unit, unit)
