"""A chart as its page tells it: the finding, the drawing, the rows, and what may be said of capability."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from records.inspection.showing import band_shown, value_words
from records.items.models import Item

from . import drawing
from .standing import ChartStanding, Told, standings_in_force, unit_steps
from .strip import Strip, draw_strip

RULE_WORDS = {
    "outside-limits": ("above the upper limit", "below the lower limit"),
    "run-one-side": ("in a row above the centre", "in a row below the centre"),
    "moving-range": ("jumps further from the one before than chance explains", ""),
}
# Mean run to a false alarm of 3 sigma limits with a run of eight, from memory of Champ and Woodall, 1987: about 153.
FALSE_ALARM_EVERY = 153


def signal_words(told: Told) -> str:
    """A signal in words, with the first unit of a run."""
    above, below = RULE_WORDS.get(told.signal.rule, (told.signal.rule, told.signal.rule))
    side = above if told.signal.above or not below else below
    if told.signal.rule == "run-one-side":
        return f"{told.signal.last - told.signal.first + 1} {side}"
    return side.capitalize()


def finding_of(standing: ChartStanding) -> str:
    """The head of a chart's page: the worst open matter first."""
    name = standing.characteristic.name.replace("-", " ").capitalize()
    if standing.n == 0:
        return f"{name} has not been measured yet"
    if standing.moving_limits is None:
        return f"{name} has too few values for limits"
    open_ones = standing.unanswered
    if open_ones:
        told = open_ones[-1]
        if told.signal.rule == "run-one-side":
            side = "high" if told.signal.above else "low"
            return f"{name} has sat {side} since {told.first.unit.code}"
        verb = "" if told.signal.rule == "moving-range" else "is "
        return f"{name}: {told.at.unit.code} {verb}{signal_words(told).lower()}"
    if any(not told.is_settled for told in standing.signals):
        return f"{name}: every signal is answered, not each cause removed"
    return f"{name} is steady, {standing.n} values"


def short(unit: Item) -> str:
    """Last figures of a serial, under the axis."""
    figures = unit.code.split("-")
    return figures[-2][-3:] if len(figures) > 2 else unit.code[-4:]


def picture_of(
    standing: ChartStanding,
    meanwhile: Mapping[str, Sequence[str]] | None = None,
    edges: Sequence[tuple[int, str]] = (),
) -> drawing.ChartPicture | None:
    """The drawing of a chart, with what changed meanwhile; none where there are no limits."""
    if standing.moving_limits is None:
        return None
    marks = [
        drawing.Mark(t.letter, t.signal.at, t.signal.first, t.signal.last, t.signal.rule == "moving-range")
        for t in standing.signals
    ]
    return drawing.draw(
        [p.value for p in standing.points],
        [p.moving for p in standing.points],
        [p.limits for p in standing.points],
        standing.moving_limits,
        [short(p.measurement.unit) for p in standing.points],
        marks,
        starts=standing.starts,
        edges=edges,
        decimals=standing.band.decimals,
        meanwhile=meanwhile,
    )


def strip_of(standing: ChartStanding) -> Strip | None:
    """How the values of the newest piece lie in the band."""
    band, size = standing.band, unit_steps(standing.band)
    lower, upper, aim = (None if s is None else s / size for s in (band.lower, band.upper, band.nominal))
    values = [p.value for p in standing.points[standing.capable_from :] if p.value is not None]
    is_shown = standing.indices is not None and standing.indices.shown
    return draw_strip(
        values, lower=lower, upper=upper, aim=aim, sigma=standing.within if is_shown else None, decimals=band.decimals
    )


@dataclass(frozen=True)
class Pick:
    """A measure beside the one that is shown: its name, how it stands, whether it is the one."""

    name: str
    state: str
    is_here: bool

    @property
    def word(self) -> str:
        """The name as it is read."""
        return self.name.replace("-", " ").capitalize()


def picks_of(standings: Sequence[ChartStanding], here: ChartStanding) -> list[Pick]:
    """The measures of one part, each with its state."""
    return [Pick(s.characteristic.name, state_of(s), s is here) for s in standings]


def state_of(standing: ChartStanding) -> str:
    """A chart in one state: a signal, steady, or too few values yet."""
    if standing.unanswered:
        return "signal"
    return "waiting" if standing.moving_limits is None or standing.is_trial else "done"


@dataclass(frozen=True)
class ChartRow:
    """One value in the table below a chart."""

    code: str
    value: str
    moving: str
    letters: str
    at: object
    gauge: str


def page_of(standing: ChartStanding) -> list[ChartRow]:
    """The values of a chart as a table, the latest first."""
    letters: dict[int, str] = {}
    for told in standing.signals:
        letters[told.signal.at] = f"{letters.get(told.signal.at, '')} {told.letter}".strip()
    band = standing.band
    rows = [
        ChartRow(
            p.measurement.unit.code,
            "" if p.value is None else value_words(p.measurement.value, band),
            "" if p.moving is None else f"{p.moving:.{band.decimals + 1}f}",
            letters.get(n, ""),
            p.measurement.at,
            str(p.measurement.gauge or ""),
        )
        for n, p in enumerate(standing.points)
    ]
    return rows[::-1]


@dataclass(frozen=True)
class CapabilityWords:
    """What may be said of how the band is used: the figures, and the sentence that belongs to them."""

    figures: tuple[tuple[str, str], ...]
    says: str
    is_shown: bool
    n: int = 0
    of: str = ""


def capability_words(standing: ChartStanding) -> CapabilityWords | None:
    """Cp and Cpk of a steady process with n and the least they can be; else at most performance, named so."""
    found = standing.indices
    if found is None:
        return None
    n = f"{found.n} value{'' if found.n == 1 else 's'}"
    if found.shown:
        figures = [("Cp", found.cp), ("Cpk", found.cpk)]
        least = f"Cpk is at least {found.cpk_least:.2f} with 95 % confidence. "
        says = f"{least}From the moving ranges of {n}, worth about {found.df:.0f} degrees of freedom."
    else:
        figures = [("Pp", found.pp), ("Ppk", found.ppk)]
        says = f"No Cp or Cpk: {(found.why or '')[0].lower()}{(found.why or '')[1:]} "
        if found.ppk is not None:
            says += f"Performance of {n}, not shown steady, and no capability."
    told = tuple((name, f"{value:.2f}") for name, value in figures if value is not None)
    still = sum(not t.is_settled and t.signal.last >= standing.capable_from for t in standing.signals)
    open_ones = f"{still} signal{'' if still == 1 else 's'} open" if still else "no signal open"
    piece = "Since the chart began anew: " if standing.capable_from else ""
    return CapabilityWords(told, says.strip(), found.shown, found.n, f"{piece}{n}, {open_ones}")


@dataclass(frozen=True)
class WallRow:
    """One measure on the wall."""

    standing: ChartStanding
    finding: str
    band: str
    picture: drawing.ChartPicture | None


def wall() -> list[WallRow]:
    """Every measure that has a value, those with unanswered signals first."""
    rows = [WallRow(s, finding_of(s), band_shown(s.band), picture_of(s)) for s in standings_in_force()]
    return sorted(rows, key=lambda row: (-len(row.standing.unanswered), row.standing.n == 0))
