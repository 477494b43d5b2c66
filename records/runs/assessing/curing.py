"""Features of a cure, each got from the curve or said not to be shown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from records.runs.reading.log import Floats

from .features import SOAK_FEATURES, Feature
from .probes import Probes
from .recipe import Rule, Verdict
from .results import Finding
from .soaking import RATE_WINDOW_S, Piece, bridged, fastest_rise, heat_up, pieces_above

# A heat-up or a cool-down is on the record when the hottest probe begins or ends this far under its peak. Common
# practice, no source.
MOVED_DEGC = 10.0


@dataclass(frozen=True)
class Cure:
    """The temperatures of a run and the level of its soak. ``pressure`` is absolute or all nan. [s, degC, mbar]"""

    seconds: Floats
    probes: Probes
    pressure: Floats
    level: float | None
    longest_gap_s: float

    @property
    def coldest(self) -> Floats:
        """Coldest working probe. [degC]"""
        return self.probes.coldest()

    @property
    def hottest(self) -> Floats:
        """Hottest working probe. [degC]"""
        return self.probes.hottest()

    def is_warmed(self) -> bool:
        """Whether the record shows a heat-up."""
        known = self.hottest[np.isfinite(self.hottest)]
        return bool(known.size and known.max() - known[0] >= MOVED_DEGC)

    def is_cooled(self) -> bool:
        """Whether the record shows a cool-down."""
        known = self.hottest[np.isfinite(self.hottest)]
        return bool(known.size and known.max() - known[-1] >= MOVED_DEGC)

    def longest_gap(self, soak: tuple[float, float]) -> tuple[float, float] | None:
        """Beginning and end of the longest gap in a soak over which nothing is shown, None without one. [s]"""
        inside = self.seconds[(self.seconds >= soak[0]) & (self.seconds <= soak[1])]
        steps = np.diff(inside)
        if not steps.size or steps.max() <= self.longest_gap_s:
            return None
        at = int(np.argmax(steps))
        return float(inside[at]), float(inside[at + 1])

    def pieces(self, level: float | None) -> list[Piece]:
        """Stretches with the coldest probe at or above a level."""
        if level is None:
            return []
        return pieces_above(self.seconds, self.coldest, level, longest_gap_s=self.longest_gap_s)

    def soak(self, level: float | None) -> tuple[float, float] | None:
        """Beginning of the first piece and end of the last. [s]"""
        pieces = self.pieces(level)
        return (pieces[0].start_s, pieces[-1].end_s) if pieces else None


def got_from_cure(rule: Rule, cure: Cure) -> Finding:
    """The value of a feature of a cure."""
    if not cure.probes.names:
        return Finding(None, "No temperature of the part was recorded.")
    if not np.isfinite(cure.hottest).any():
        return Finding(None, "No probe gave readings that can be believed.")
    if rule.feature in SOAK_FEATURES and rule.level is None:
        return Finding(None, "The recipe names no level for the soak.")
    if rule.feature in (Feature.SOAK_COLDEST, Feature.SOAK_COLDEST_SUM):
        return _soak_length(rule, cure)
    if rule.feature in (Feature.HEAT_UP_MAX, Feature.COOL_DOWN_MAX):
        return _fastest(rule, cure)
    if rule.feature is Feature.HEAT_UP_MEAN:
        return _mean_rate(rule, cure)
    if rule.feature in (Feature.PEAK, Feature.OVERSHOOT):
        return _unless_in_a_gap(rule, cure, _peak(rule, cure))
    if rule.feature is Feature.END_TEMPERATURE:
        last = int(np.flatnonzero(np.isfinite(cure.hottest))[-1])
        at = float(cure.seconds[last])
        return Finding(float(cure.hottest[last]), "", at, at)
    return _unless_in_a_gap(rule, cure, _in_soak(rule, cure))


def _unless_in_a_gap(rule: Rule, cure: Cure, found: Finding) -> Finding:
    """An extreme of the soak, not shown where a gap may hide a worse one; what is outside already stays outside."""
    soak = cure.soak(rule.level if rule.feature in SOAK_FEATURES else cure.level)
    gap = cure.longest_gap(soak) if soak else None
    counted = rule.feature is Feature.PROBES_WORKING
    if gap is None or found.got is None or counted or rule.verdict(found.got) is Verdict.OUTSIDE:
        return found
    lost_min = (gap[1] - gap[0]) / 60
    words = f"For {lost_min:.1f} min of the soak nothing is recorded; {found.got:.4g} is that of the rest."
    return Finding(None, words, *gap)


def _soak_length(rule: Rule, cure: Cure) -> Finding:
    """Length of the soak; where a gap leaves it open, both lengths it can have had."""
    pieces = cure.pieces(rule.level)
    adds = rule.feature is Feature.SOAK_COLDEST_SUM
    if not pieces:
        highest = float(np.nanmax(cure.coldest))
        words = f"The coldest probe reached {highest:.1f} degC and never {rule.level:g}."
        if not cure.is_cooled():  # the soak may have come after the end of the record
            return Finding(None, f"{words} The record ends before a cool-down.")
        return Finding(0.0, words)
    least, piece = _length(pieces, adds=adds)
    whole = bridged(pieces, cure.seconds, cure.coldest, rule.level or 0.0)
    most, _ = _length(whole, adds=adds)
    if any(piece.open_start or piece.open_end for piece in whole):
        most = float("inf")  # the record begins or ends, or the last probe is lost, within the soak
    start, end = (pieces[0].start_s, pieces[-1].end_s) if adds else (piece.start_s, piece.end_s)
    words = ""
    if len(pieces) > 1:
        lengths = [piece.length_s / 60 for piece in pieces]
        told = " and ".join(f"{length:.1f}" for length in sorted(lengths, reverse=True))
        many = f"{len(pieces)} pieces, the longest {max(lengths):.1f} min"
        added = f"pieces of {told} min" if len(pieces) <= 3 else many
        dip = float(np.nanmin(_between(cure, cure.coldest, pieces[0].start_s, pieces[-1].end_s)))
        words = f"Interrupted: {added}, lowest {dip:.1f} degC."
    if most > least + 1e-6:
        words = f"{words} {_open_words(least, most)}".strip()
        return Finding(least / 60, words, start, end, least / 60, most / 60)
    return Finding(least / 60, words, start, end)


def _open_words(least_s: float, most_s: float) -> str:
    if np.isinf(most_s):
        return f"{least_s / 60:.1f} min are shown; the record doesn't show the soak from its beginning to its end."
    return f"A gap leaves it open: {least_s / 60:.1f} to {most_s / 60:.1f} min."


def _length(pieces: list[Piece], *, adds: bool) -> tuple[float, Piece]:
    """Length that counts and the longest piece. [s]"""
    longest = max(pieces, key=lambda piece: piece.length_s)
    return (sum(piece.length_s for piece in pieces) if adds else longest.length_s), longest


def _between(cure: Cure, values: Floats, start_s: float, end_s: float) -> Floats:
    return values[(cure.seconds >= start_s) & (cure.seconds <= end_s)]


def _in_soak(rule: Rule, cure: Cure) -> Finding:
    soak = cure.soak(rule.level)
    if soak is None:
        return Finding(None, f"The coldest probe never reached {rule.level:g} degC: there is no soak.")
    inside = (cure.seconds >= soak[0]) & (cure.seconds <= soak[1])
    if not inside.any():
        return Finding(None, "No sample lies in the soak.")
    if rule.feature is Feature.PROBES_WORKING:
        last = np.flatnonzero(inside)[-1]
        return Finding(float(np.isfinite(cure.probes.values[:, last]).sum()), "", *soak)
    curves = {
        Feature.SOAK_LOWEST: lambda: np.nanmin(cure.coldest[inside]),
        Feature.SOAK_HOTTEST: lambda: np.nanmax(cure.hottest[inside]),
        Feature.SOAK_SPREAD: lambda: np.nanmax(cure.hottest[inside] - cure.coldest[inside]),
    }
    if rule.feature is Feature.SOAK_VACUUM:
        pressures = cure.pressure[inside]
        if not np.isfinite(pressures).all():
            return Finding(None, "The absolute pressure was not recorded through the whole soak.")
        return Finding(float(pressures.max()), "", *soak)
    return Finding(float(curves[rule.feature]()), "", *soak)


def _peak(rule: Rule, cure: Cure) -> Finding:
    at = int(np.nanargmax(cure.hottest))
    peak = float(cure.hottest[at])
    when = float(cure.seconds[at])
    if rule.feature is Feature.PEAK:
        return Finding(peak, "", when, when)
    if rule.level is None:
        return Finding(None, "The recipe names no set-point.")
    return Finding(peak - rule.level, f"Hottest reading {peak:.1f} degC.", when, when)


def _fastest(rule: Rule, cure: Cure) -> Finding:
    sign = 1.0 if rule.feature is Feature.HEAT_UP_MAX else -1.0
    found = []
    for name, values in zip(cure.probes.names, cure.probes.values, strict=True):
        rise = fastest_rise(cure.seconds, sign * values, longest_gap_s=cure.longest_gap_s)
        if rise is not None:
            found.append((*rise, name))
    if not found:
        return Finding(None, "No five minutes without a gap are recorded.")
    rate, start, name = max(found)
    is_shown = cure.is_warmed() if rule.feature is Feature.HEAT_UP_MAX else cure.is_cooled()
    if not is_shown and rule.verdict(rate) is not Verdict.OUTSIDE:
        what = "heat-up" if rule.feature is Feature.HEAT_UP_MAX else "cool-down"
        return Finding(None, f"The record shows no {what}.")
    return Finding(rate, f"At {name}.", start, start + RATE_WINDOW_S)


def _mean_rate(rule: Rule, cure: Cure) -> Finding:
    found = heat_up(cure.seconds, cure.hottest, rule.level) if rule.level is not None else None
    if found is None:
        return Finding(None, "The record doesn't show a heat-up from its beginning to the level.")
    start, reached, rate = found
    return Finding(rate, "", start, reached)
