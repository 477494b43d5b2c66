"""Limits worked out from a span of measurements: as they would be frozen, and laid beside those in force."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from plant.catalogue.models import Characteristic
from plant.catalogue.queries import band_in_force
from records.inspection.models import Measurement
from records.ledger.clock import clock
from records.ledger.refusals import Refused

from .limits import Limits, individuals_limits
from .models import Baseline
from .queries import standing_values
from .standing import ChartStanding, Told, standing_of_chart, standing_of_charts

LEAST_FOR_LIMITS = 20  # common practice, no source


def baseline_from(
    characteristic: Characteristic, from_at: datetime, to_at: datetime
) -> tuple[Baseline, list[Measurement]]:
    """Limits of a span, not written yet, and the measurements they rest on. Refuses ``too-few``."""
    points = standing_values(characteristic, from_at, to_at)
    if len(points) < LEAST_FOR_LIMITS:
        raise Refused(
            "too-few",
            "%(n)s values lie in this span; limits want %(least)s. Choose a longer one, or measure more.",
            n=len(points),
            least=LEAST_FOR_LIMITS,
        )
    limits = individuals_limits([float(point.value or 0) for point in points])
    baseline = Baseline(
        characteristic=characteristic,
        from_at=from_at,
        to_at=to_at,
        n=len(points),
        centre_milli=round(limits.individuals.centre * 1000),
        mean_range_milli=round(limits.moving_range.centre * 1000),
    )
    return baseline, points


@dataclass(frozen=True)
class LimitRow:
    """One limit as it is and as it would be. [unit of the band]"""

    name: str
    now: str
    then: str


@dataclass(frozen=True)
class Trial:
    """A chart as it stands, and as it would stand under limits frozen from a span."""

    baseline: Baseline
    now: ChartStanding
    then: ChartStanding

    @property
    def rows(self) -> list[LimitRow]:
        """Old limits and new ones, side by side."""
        decimals = self.now.band.decimals + 1

        def words(value: float | None) -> str:
            return "" if value is None else f"{value:.{decimals}f}"

        def row(name: str, part: str, *, moving: bool = False) -> LimitRow:
            both = [(s.moving_limits if moving else s.limits) for s in (self.now, self.then)]
            return LimitRow(name, *(words(_of(limits, part)) for limits in both))

        return [
            row("Upper limit", "upper"),
            row("Centre", "centre"),
            row("Lower limit", "lower"),
            row("Upper limit of the moving range", "upper", moving=True),
            row("Mean moving range", "centre", moving=True),
        ]

    @property
    def in_span(self) -> list[Told]:
        """Signals that the span itself would give under its own limits: it was not steady."""
        return [told for told in self.then.signals if self.baseline.from_at <= told.at.at <= self.baseline.to_at]

    @property
    def elsewhere(self) -> list[Told]:
        """Signals of what was measured before the span or after it."""
        return [told for told in self.then.signals if told not in self.in_span]

    @property
    def edges(self) -> list[tuple[int, str]]:
        """Places of the chart at which the span begins and ends."""
        times = [point.measurement.at for point in self.then.points]
        begin = sum(at < self.baseline.from_at for at in times)
        return [(begin, "span from"), (sum(at <= self.baseline.to_at for at in times), "to")]

    @property
    def finding(self) -> str:
        """The head: whether the span was steady."""
        if not self.in_span:
            return f"{self.baseline.n} values, and none of them gives a signal"
        signals = len(self.in_span)
        return f"This span is not steady: it gives {signals} signal{'' if signals == 1 else 's'} under its own limits"


def _of(limits: Limits | None, part: str) -> float | None:
    return None if limits is None else getattr(limits, part)


def try_limits(characteristic: Characteristic, from_at: datetime, to_at: datetime) -> Trial:
    """The chart under limits from a span, beside the chart as it stands; nothing is written. Refuses ``too-few``."""
    baseline, _ = baseline_from(characteristic, from_at, to_at)
    band = band_in_force(characteristic, clock.now())
    then = standing_of_charts([characteristic], [band], tried=baseline)[0]
    return Trial(baseline, standing_of_chart(characteristic), then)
