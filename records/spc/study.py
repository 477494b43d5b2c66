"""A whole study of readings: charts with their points, signals, spread, indices and what to be careful about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from records.ledger.refusals import Refused
from records.spc.capability import OPEN, Band, Indices, indices
from records.spc.gauge_step import GaugeStep, gauge_step
from records.spc.limits import (
    FEWEST_POINTS,
    Limits,
    Spread,
    check,
    individuals_limits,
    mean,
    moving_ranges,
    overall_deviation,
    range_of,
    subgroup_limits,
)
from records.spc.rules import DEFAULT_RULES, OUTSIDE_LIMITS, Rule, Signal, find_signals

# The spread of all readings over the spread inside, from which on averages drift. A choice, no source.
DRIFT = 1.5


@dataclass(frozen=True)
class Terms:
    """How a study is made: tolerance band, rules, and how many first points the limits rest on (None: all)."""

    band: Band = OPEN
    rules: tuple[Rule, ...] = DEFAULT_RULES
    freeze: int | None = None


PLAIN = Terms()


@dataclass(frozen=True)
class Chart:
    """One plotted statistic: what each place is called, its value or None, limits of each, rules fired at each. [u]"""

    name: str
    limits: Limits
    steps: bool
    at: tuple[str, ...]
    values: tuple[float | None, ...]
    each: tuple[Limits, ...]
    signals: tuple[Signal, ...]

    def fired(self) -> dict[int, list[str]]:
        """Rules that fired, by place counted from 0; places without a signal are left out."""
        rules: dict[int, list[str]] = {}
        for signal in self.signals:
            rules.setdefault(signal.at, []).append(signal.rule)
        return rules

    def of_mean_size(self, limits: Limits) -> Chart:
        """The same chart; where limits step, those of the whole are the ones given."""
        return replace(self, limits=limits) if self.steps else self


@dataclass(frozen=True)
class Caution:
    """Something to know before believing a chart."""

    kind: str
    words: str


@dataclass(frozen=True)
class Study:
    """What a chart of readings says. ``frozen`` is the number of first points that the limits rest on. [u]"""

    kind: str
    n: int
    missing: int
    subgroups: int | None
    trial: bool
    frozen: int | None
    charts: tuple[Chart, ...]
    mean: float
    within: Spread
    overall: float
    indices: Indices
    cautions: tuple[Caution, ...]

    @property
    def has_signal(self) -> bool:
        """Whether any rule fired on any chart."""
        return any(chart.signals for chart in self.charts)


def study_individuals(values: Sequence[float | None], at: Sequence[str], *, step: float, terms: Terms = PLAIN) -> Study:
    """Individuals and moving-range chart.

    Parameters
    ----------
    values : sequence of float or None
        Readings in the order made; None where one is missing. [u]
    at : sequence of str
        What each place is called.
    step : float
        Smallest step that the readings are written in. [u]

    Notes
    -----
    Limits and the spread inside rest on the first ``terms.freeze`` readings or on all; the spread overall, the mean
    of the indices and the signals on all. Refuses ``too-few``.
    """
    check(values)
    known = [value for value in values if value is not None]
    base = values[: _end_of_first(values, terms.freeze)]
    ranges = moving_ranges(values)
    if len(known) < 2 or not any(r is not None for r in ranges[: len(base)]):
        raise Refused(
            "too-few", "Limits need at least 2 readings beside each other; there are %(n)s readings.", n=len(known)
        )
    limits = individuals_limits(base)
    gauge = gauge_step(known, ranges, sigma=limits.within.sigma, step=step)
    rules = () if gauge.coarse else terms.rules
    single = _chart("individuals", at, values, [limits.individuals] * len(values), rules)
    moving = _chart("moving-range", at, ranges, [limits.moving_range] * len(values), _for_ranges(rules))
    basis = _Basis(tuple(known), len(values) - len(known), limits.within, limits.n, gauge)
    return _study("individuals", (single, moving), basis, terms)


def study_subgroups(
    subgroups: Sequence[Sequence[float]], at: Sequence[str], *, step: float, missing: int = 0, terms: Terms = PLAIN
) -> Study:
    """Chart of averages and chart of ranges of subgroups that may differ in size.

    Parameters
    ----------
    subgroups : sequence of sequences of float
        Readings that are there, by subgroup; one with fewer than two has no range and is left out. [u]
    at : sequence of str
        What each subgroup is called.
    step : float
        Smallest step that the readings are written in. [u]
    missing : int
        Readings that are not there.

    Notes
    -----
    Limits step where sizes differ; those of the chart are then for the mean size. Refuses ``too-few``.
    """
    whole = [(name, tuple(row)) for name, row in zip(at, subgroups, strict=True) if len(row) > 1]
    rows = [row for _, row in whole]
    if len(rows) < 2:
        raise Refused(
            "too-few", "Limits need at least 2 subgroups of 2 or more readings; there are %(n)s.", n=len(rows)
        )
    base = rows[: _base_size(len(rows), terms.freeze)]
    limits = subgroup_limits(base)
    known = [value for row in rows for value in row]
    ranges = [range_of(row) for row in rows]
    gauge = gauge_step(known, ranges, sigma=limits.within.sigma, step=step)
    rules = () if gauge.coarse else terms.rules
    names = [name for name, _ in whole]
    size = len(known) / len(rows)
    averages = _chart("xbar", names, [mean(row) for row in rows], [limits.averages(len(row)) for row in rows], rules)
    spreads = _chart("range", names, ranges, [limits.ranges(len(row)) for row in rows], _for_ranges(rules))
    charts = (averages.of_mean_size(limits.averages(size)), spreads.of_mean_size(limits.ranges(round(size))))
    return _study("xbar-r", charts, _Basis(tuple(known), missing, limits.within, len(base), gauge), terms)


def _chart(
    name: str, at: Sequence[str], values: Sequence[float | None], each: Sequence[Limits], rules: Sequence[Rule]
) -> Chart:
    """A chart with its signals."""
    found = find_signals(values, each, rules=rules)
    return Chart(name, each[0], len(set(each)) > 1, tuple(at), tuple(values), tuple(each), found)


def _for_ranges(rules: Sequence[Rule]) -> tuple[Rule, ...]:
    """Ranges are skew and moving ranges share readings, so only the limits mean something there (common practice)."""
    return tuple(rule for rule in rules if rule == OUTSIDE_LIMITS)


@dataclass(frozen=True)
class _Basis:
    """What the charts of a study rest on."""

    known: tuple[float, ...]
    missing: int
    within: Spread
    points: int
    gauge: GaugeStep


def _study(kind: str, charts: tuple[Chart, ...], basis: _Basis, terms: Terms) -> Study:
    """Charts with the spread of all readings, indices and cautions."""
    centre, overall = mean(basis.known), overall_deviation(basis.known)
    found = indices(
        mean=centre,
        n=len(basis.known),
        within=basis.within,
        overall=overall,
        band=terms.band,
        signals=sum(len(chart.signals) for chart in charts),
        coarse=basis.gauge.coarse,
    )
    subgroups = len(charts[0].values) if kind == "xbar-r" else None
    return Study(
        kind=kind,
        n=len(basis.known),
        missing=basis.missing,
        subgroups=subgroups,
        trial=basis.points < FEWEST_POINTS,
        frozen=terms.freeze,
        charts=charts,
        mean=centre,
        within=basis.within,
        overall=overall,
        indices=found,
        cautions=(
            *_gauge_cautions(basis.gauge, charts[0]),
            *_trial_caution(basis.points),
            *(_drift_caution(basis.within, overall) if subgroups else ()),
        ),
    )


def _gauge_cautions(gauge: GaugeStep, chart: Chart) -> tuple[Caution, ...]:
    """What a step too wide for the spread does; points that were kept back from being signals are named."""
    if not gauge.wide:
        return ()
    if not gauge.coarse:
        words = (
            f"The step of the readings ({gauge.step:g}) is wider than a sigma ({gauge.sigma:.4g}): limits are rough."
        )
        return (Caution("wide-step", words),)
    outside = [chart.at[s.at] for s in find_signals(chart.values, chart.each, rules=(OUTSIDE_LIMITS,))]
    left_out = f" Not raised as signals though outside the limits: {', '.join(outside)}." if outside else ""
    words = (
        f"The gauge is too coarse for the spread: {gauge.distinct} different values, {gauge.zero_ranges} of "
        f"{gauge.ranges} ranges zero, step {gauge.step:g} against a sigma of {gauge.sigma:.4g}. "
        f"Use a finer gauge; no signals are raised.{left_out}"
    )
    return (Caution("coarse-gauge", words),)


def _trial_caution(base: int) -> tuple[Caution, ...]:
    if base >= FEWEST_POINTS:
        return ()
    return (Caution("trial-limits", f"The limits rest on {base} points, fewer than {FEWEST_POINTS}: trial limits."),)


def _drift_caution(within: Spread, overall: float) -> tuple[Caution, ...]:
    if overall <= DRIFT * within.sigma:
        return ()
    words = "The averages of the subgroups drift, so the spread inside the subgroups says little about the parts."
    return (Caution("averages-drift", words),)


def _end_of_first(values: Sequence[float | None], freeze: int | None) -> int:
    """Place behind the reading with number ``freeze``; empty places don't count."""
    places = [place for place, value in enumerate(values) if value is not None]
    return len(values) if freeze is None else places[_base_size(len(places), freeze) - 1] + 1


def _base_size(points: int, freeze: int | None) -> int:
    if freeze is None:
        return points
    if not 2 <= freeze <= points:
        raise Refused(
            "bad-freeze", "Limits can be frozen from 2 to %(points)s points, not from %(n)s.", points=points, n=freeze
        )
    return freeze
