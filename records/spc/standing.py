"""A characteristic's chart as it stands: limits frozen or on trial, signals with their answers, capability or why not.

A chart starts a new piece where something was rebuilt. Limits frozen from a span hold from that piece on, until the
chart is broken again; everything else is judged by trial limits worked out from its own readings.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from plant.catalogue.in_force import bands
from plant.catalogue.models import Characteristic, CharacteristicRevision
from plant.catalogue.queries import band_in_force
from plant.quantities import UNITS
from records.inspection.models import Measurement
from records.inspection.queries import series_of_each
from records.ledger.clock import clock

from .capability import Band, Indices, indices
from .gauge_step import gauge_step
from .limits import (
    Limits,
    limits_about,
    mean,
    moving_range_limits,
    moving_ranges,
    overall_deviation,
    spread_of_moving_ranges,
)
from .models import Baseline, ChartBreak, SignalAnswer
from .pieces import PieceChart, chart_in_pieces, cut_at_breaks
from .queries import value_in_chart
from .rules import OUTSIDE_LIMITS, Signal, find_signals

FEWEST_FOR_INDICES = 2


@dataclass(frozen=True)
class Point:
    """One measurement on the chart. A place without a value stays empty. [unit of the band]"""

    measurement: Measurement
    value: float | None
    moving: float | None
    limits: Limits


@dataclass(frozen=True)
class Told:
    """A signal with its letter, the measurement that made it full, and its newest answer."""

    letter: str
    signal: Signal
    first: Measurement
    at: Measurement
    answer: SignalAnswer | None

    @property
    def is_settled(self) -> bool:
        """Whether its cause was found and removed; an answer alone does not settle it."""
        return self.answer is not None and self.answer.cause_found and self.answer.removed


@dataclass(frozen=True)
class ChartStanding:
    """Everything that a chart's page says. [unit of the band]"""

    characteristic: Characteristic
    band: CharacteristicRevision
    points: tuple[Point, ...]
    starts: tuple[int, ...]
    baseline: Baseline | None
    is_frozen: bool
    is_trial: bool
    signals: tuple[Told, ...]
    moving_limits: Limits | None
    indices: Indices | None
    capable_from: int
    within: float | None = None

    @property
    def n(self) -> int:
        return sum(point.value is not None for point in self.points)

    @property
    def unanswered(self) -> list[Told]:
        return [told for told in self.signals if told.answer is None]

    @property
    def limits(self) -> Limits | None:
        """Limits of the newest place."""
        return self.points[-1].limits if self.points and self.moving_limits else None


def unit_steps(band: CharacteristicRevision) -> int:
    """Whole steps in one unit of a band."""
    return UNITS[band.unit_kind][band.unit]


def standing_of_chart(characteristic: Characteristic) -> ChartStanding:
    """The chart of a characteristic as it stands."""
    return standing_of_charts([characteristic], [band_in_force(characteristic, clock.now())])[0]


def standings_in_force() -> list[ChartStanding]:
    """Every chart that has a band in force, by part and name; the same number of queries whatever their number."""
    characteristics = list(Characteristic.objects.select_related("part").order_by("part__number", "name"))
    return standing_of_charts(characteristics, bands(clock.now()))


def standing_of_charts(
    characteristics: Sequence[Characteristic],
    bands: Iterable[CharacteristicRevision],
    *,
    tried: Baseline | None = None,
) -> list[ChartStanding]:
    """Charts as they stand, in the order given; four queries whatever their number and length.

    A characteristic without a band has no chart. ``tried`` are limits not frozen yet, as if they were.
    """
    band_of = {band.characteristic_id: band for band in bands}
    shown = [characteristic for characteristic in characteristics if characteristic.pk in band_of]
    series = series_of_each(shown)
    breaks: dict[int, list[datetime]] = defaultdict(list)
    for number, at in ChartBreak.objects.filter(characteristic__in=shown).values_list("characteristic_id", "at"):
        breaks[number].append(at)
    frozen = {
        row.characteristic_id: row for row in Baseline.objects.filter(characteristic__in=shown).order_by("to_at", "pk")
    }
    if tried is not None:
        frozen[tried.characteristic_id] = tried
    answers: dict[int, list[SignalAnswer]] = defaultdict(list)
    rows = SignalAnswer.objects.filter(characteristic__in=shown).order_by("pk")
    for answer in rows.select_related("entry__by__name_words", "words", "measurement"):
        answers[answer.characteristic_id].append(answer)
    return [
        work_out(c, band_of[c.pk], series[c.pk], sorted(breaks[c.pk]), frozen.get(c.pk), answers[c.pk]) for c in shown
    ]


def work_out(
    characteristic: Characteristic,
    band: CharacteristicRevision,
    series: Sequence[Measurement],
    breaks: Sequence[datetime],
    baseline: Baseline | None,
    answers: Iterable[SignalAnswer],
) -> ChartStanding:
    """Put a chart together from what is on file."""
    size = unit_steps(band)
    values = [None if (v := value_in_chart(m)) is None else v / size for m in series]
    starts = _starts([m.at for m in series], breaks)
    applies = baseline if baseline and not any(at > baseline.to_at for at in breaks) else None
    since = max((at for at in breaks if applies and at <= applies.from_at), default=None) if applies else None
    each = _limits_of_each(series, values, breaks, applies, size, since)
    if each is None:
        points = tuple(Point(m, v, None, Limits(0, 0, 0)) for m, v in zip(series, values, strict=True))
        return ChartStanding(characteristic, band, points, starts, baseline, False, True, (), None, None, 0)
    limits, moving_limits = each
    ranges = _ranges_in_pieces(values, starts)
    points = tuple(Point(m, v, r, lim) for m, v, r, lim in zip(series, values, ranges, limits, strict=True))
    signals = _told(_signals(values, ranges, limits, moving_limits, starts), series, list(answers))
    begin = starts[-1] if starts else 0
    found = _indices(points, begin, band, size, signals)
    return ChartStanding(
        characteristic=characteristic,
        band=band,
        points=points,
        starts=starts,
        baseline=baseline,
        is_frozen=applies is not None,
        is_trial=applies is None,
        signals=signals,
        moving_limits=moving_limits,
        indices=found,
        capable_from=begin,
        within=_within(points, begin),
    )


def _starts(times: Sequence[datetime], breaks: Sequence[datetime]) -> tuple[int, ...]:
    """Places where a new piece begins."""
    found = {next((n for n, at in enumerate(times) if at >= edge), len(times)) for edge in breaks}
    return tuple(sorted(n for n in found | {0} if n < len(times)))


def _ranges_in_pieces(values: Sequence[float | None], starts: Sequence[int]) -> list[float | None]:
    ends = [*starts[1:], len(values)]
    return [r for start, end in zip(starts, ends, strict=True) for r in moving_ranges(values[start:end])]


def _limits_of_each(
    series: Sequence[Measurement],
    values: Sequence[float | None],
    breaks: Sequence[datetime],
    baseline: Baseline | None,
    size: int,
    since: datetime | None,
) -> tuple[list[Limits], Limits] | None:
    """Limits of each place and of the moving range: frozen where they apply, else from the readings themselves."""
    chart = chart_in_pieces(cut_at_breaks([(m.at, v) for m, v in zip(series, values, strict=True)], list(breaks)))
    trial = _trial_limits(series, breaks, chart, values) if chart else [Limits(0, 0, 0)] * len(series)
    if baseline is not None:
        fixed = limits_about(baseline.centre_milli / 1000 / size, mean_range=baseline.mean_range_milli / 1000 / size)
        each = [fixed if since is None or m.at >= since else t for m, t in zip(series, trial, strict=True)]
        return each, moving_range_limits(baseline.mean_range_milli / 1000 / size)
    return (trial, chart.moving_range) if chart else None


def _trial_limits(
    series: Sequence[Measurement], breaks: Sequence[datetime], chart: PieceChart, values: Sequence[float | None]
) -> list[Limits]:
    """Limits of the piece that each place lies in; a piece without a reading takes those of the one before."""
    starts = _starts([m.at for m in series], breaks)
    ends = [*starts[1:], len(series)]
    pieces = iter(chart.pieces)
    found: list[Limits] = []
    last = Limits(0, 0, 0)
    for start, end in zip(starts, ends, strict=True):
        if any(value is not None for value in values[start:end]):
            last = next(pieces).limits
        found += [last] * (end - start)
    return found


def _signals(
    values: Sequence[float | None],
    ranges: Sequence[float | None],
    limits: Sequence[Limits],
    moving: Limits,
    starts: Sequence[int],
) -> list[Signal]:
    singles = find_signals(values, list(limits), starts=starts)
    spread = [
        Signal("moving-range", s.at, s.first, s.last, s.above)
        for s in find_signals(ranges, moving, rules=(OUTSIDE_LIMITS,))
    ]
    return sorted([*singles, *spread], key=lambda signal: (signal.at, signal.rule))


def letter_of(number: int) -> str:
    """A, B ... Z, then AA, AB; never I or O, which are mistaken for figures."""
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    more, last = divmod(number, len(letters))
    return (letter_of(more - 1) if more else "") + letters[last]


def _told(
    signals: Sequence[Signal], series: Sequence[Measurement], answers: Sequence[SignalAnswer]
) -> tuple[Told, ...]:
    """Signals with their newest answers: an answer names a version of the measurement, any version of it counts."""
    newest = {(answer.measurement.line, answer.rule): answer for answer in answers}
    return tuple(
        Told(letter_of(n), s, series[s.first], series[s.at], newest.get((series[s.at].line, s.rule)))
        for n, s in enumerate(signals)
    )


def _within(points: Sequence[Point], begin: int) -> float | None:
    """Spread inside the newest piece, from its moving ranges."""
    ranges = [point.moving for point in points[begin:]]
    return spread_of_moving_ranges([ranges]).sigma if any(r is not None for r in ranges) else None


def _indices(
    points: Sequence[Point], begin: int, band: CharacteristicRevision, size: int, signals: Sequence[Told]
) -> Indices | None:
    """Capability of the newest piece; none where there is too little of it."""
    piece = points[begin:]
    known = [point.value for point in piece if point.value is not None]
    ranges = [point.moving for point in piece]
    if len(known) < FEWEST_FOR_INDICES or not any(r is not None for r in ranges):
        return None
    within = spread_of_moving_ranges([ranges])
    limits = (None if steps is None else steps / size for steps in (band.lower, band.upper))
    coarse = gauge_step(known, ranges, sigma=within.sigma, step=10.0**-band.decimals).coarse
    still = [told for told in signals if told.signal.last >= begin and not told.is_settled]
    return indices(
        mean=mean(known),
        n=len(known),
        within=within,
        overall=overall_deviation(known),
        band=Band(*limits),
        signals=len(still),
        coarse=coarse,
    )
