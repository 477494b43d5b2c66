"""From written dates and times to instants: one layout and one order of day and month for the whole file.

The order is never guessed cell by cell: what all rows together prove counts, and what they don't prove is asked.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from .cells import DOTTED_TIME, WEEKDAY, sampled
from .log import Floats, Stamps

DAY_S = 86_400.0
# Month names of the languages that recorders in European works are set to; three letters tell them apart.
_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan ene gen", "feb fev fév", "mar mär mrz", "apr abr avr", "may mai mag maj", "jun jui giu", "jul lug",
         "aug ago aoû", "sep set", "oct okt ott out", "nov", "dec dez dic déc"), 1
    )
    for name in names.split()
}  # fmt: skip
_TIME = (
    r"(?P<h>\d{1,2}):(?P<mi>\d{1,2})(?::(?P<s>\d{1,2})(?:[.,:](?P<f>\d+))?)?(?:\s*(?P<half>[AaPp])\.?\s?[Mm]\.?)?"
    r"(?:\s*(?P<off>Z|UTC|GMT|[A-Z]{3,4}|(?:UTC|GMT)?[+\-−]\d{1,2}(?::?\d{2})?))?"
)
_DIGITS = r"(?P<a>\d{1,4})(?P<sep>[-/.])(?P<b>\d{1,2})[-/.](?P<c>\d{1,4})"
_NAMED = r"(?P<a>\d{1,2})[-. ]{0,2}(?P<month>[^\W\d]{3,9})\.?[-. ,]{1,2}(?P<c>\d{2,4})"
_NAMED_FIRST = r"(?P<month>[^\W\d]{3,9})\.? (?P<a>\d{1,2}),? (?P<c>\d{4})"
_GAP = r"[ \u00a0\u202fT,_\-]+"
_LAYOUTS = tuple(
    re.compile(rf"\s*(?:{layout})\s*")
    for layout in (
        f"{WEEKDAY}?{_DIGITS}(?:{_GAP}{_TIME})?",
        f"{WEEKDAY}?{_NAMED}(?:{_GAP}{_TIME})?",
        f"{WEEKDAY}?{_NAMED_FIRST}(?:{_GAP}{_TIME})?",
        rf"{WEEKDAY}?(?P<month>[^\W\d]{{3,9}}) +(?P<a>\d{{1,2}}) {_TIME} (?P<c>\d{{4}})",
        rf"{_DIGITS}[ T]+{DOTTED_TIME}",
        rf"{_TIME}[ ,\-]+{_DIGITS}",
        rf"{_TIME}[ ,\-]+(?P<a>\d{{1,2}})(?P<sep>[/.])(?P<b>\d{{1,2}})\.?",
        rf"(?P<a>\d{{1,2}})(?P<sep>[/.])(?P<b>\d{{1,2}})\.?[ \-]+{_TIME}",
        r"(?P<ymd>\d{8})[T _\-](?P<h>\d{2})(?P<mi>\d{2})(?P<s>\d{2})?(?:\.(?P<f>\d+))?(?P<off>Z)?",
        _TIME,
    )
)
# No recorder wrote outside these years; a clock that lost its setting may show one that no calendar can carry.
FIRST_YEAR, LAST_YEAR = 1900, 2199
_EARLIEST, _LATEST = np.datetime64(f"{FIRST_YEAR}-01-01", "us"), np.datetime64(f"{LAST_YEAR + 1}-01-01", "us")
_PLAIN_ISO = re.compile(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d:\d\d(\.\d{1,6})?")
# No zone lies farther from UTC. [min]
_FARTHEST_MIN = 18 * 60
_OFFSET = re.compile(r"(?:UTC|GMT)?([+\-−])(\d{1,2}):?(\d{2})?")
# Zone letters that stand for one offset wherever they are used. [min]
FIXED_LETTERS = {"Z": 0, "UTC": 0, "GMT": 0, "CET": 60, "CEST": 120, "MEZ": 60, "MESZ": 120, "EET": 120, "EEST": 180,
                 "WET": 0, "WEST": 60, "EDT": -240, "CDT": -300, "MDT": -360, "PDT": -420}  # fmt: skip


@dataclass(frozen=True)
class DateHints:
    """What stands elsewhere in the file about its dates: an order in words, dates that can be read one way only."""

    order: str | None = None
    known: tuple[date, ...] = ()
    written: tuple[str, ...] = ()


@dataclass(frozen=True)
class Stamped:
    """Stamps of a column. ``times`` as written, NaT where not read; ``offsets_min`` nan where the cell names none.

    ``dated`` is False for times of day alone. ``asked`` is True when day and month can't be told apart.
    ``year_known`` is False when neither rows nor preamble name a year.
    """

    times: Stamps
    offsets_min: Floats
    dated: bool = True
    asked: bool = False
    year_known: bool = True
    order: str | None = None


@dataclass
class _Parts:
    """Digits of the cells that fit a layout, in columns; ``fits`` says which cells those are."""

    fits: np.ndarray
    texts: dict[str, list[str | None]] = field(default_factory=dict)

    def whole(self, group: str) -> np.ndarray:
        return np.array([int(text) if text else 0 for text in self.texts[group]], dtype=np.int64)

    def has(self, group: str) -> bool:
        return group in self.texts and any(self.texts[group])


def stamps_of(cells: Sequence[str], hints: DateHints | None = None) -> Stamped | None:
    """Instants of a column of cells, None when hardly any cell is a stamp."""
    quick = _plain_iso(cells)
    if quick is not None:
        return Stamped(quick, np.full(len(cells), np.nan), order="ymd")
    sample = [cell for cell in sampled(cells, 200) if cell.strip()]
    layout = max(_LAYOUTS, key=lambda known: sum(1 for cell in sample if known.fullmatch(cell)))
    parts = _parts(cells, layout)
    if parts.fits.sum() < 0.5 * max(len(sample) and sum(1 for cell in cells if cell.strip()), 1):
        return None
    return _instants(parts, hints or DateHints(), len(cells))


def _plain_iso(cells: Sequence[str]) -> Stamps | None:
    """The common layout in one step; numpy itself refuses a date that doesn't exist."""
    if not cells or not _PLAIN_ISO.fullmatch(cells[0]) or not all(map(_PLAIN_ISO.fullmatch, cells)):
        return None
    try:
        times = np.array(cells, dtype="datetime64[us]")
    except ValueError:
        return None
    return times if (times >= _EARLIEST).all() and (times < _LATEST).all() else None


def _parts(cells: Sequence[str], layout: re.Pattern[str]) -> _Parts:
    found = [layout.fullmatch(cell) for cell in cells]
    fits = np.array([match is not None for match in found])
    groups = [match.groups() for match in found if match]
    columns = list(zip(*groups, strict=True)) if groups else [()] * layout.groups
    return _Parts(fits, {name: list(columns[n - 1]) for name, n in layout.groupindex.items()})


def _instants(parts: _Parts, hints: DateHints, count: int) -> Stamped:
    seconds, valid_time = _seconds_of_day(parts)
    offsets = np.full(count, np.nan)
    if parts.has("off"):
        told = {text: offset_min(text) if text else np.nan for text in set(parts.texts["off"])}
        offsets[parts.fits] = [told[text] for text in parts.texts["off"]]
    times = np.full(count, np.datetime64("NaT", "us"))
    if not (parts.has("a") or parts.has("ymd")):
        whole = np.where(valid_time, np.round(seconds * 1e6), 0).astype("timedelta64[us]")
        times[parts.fits] = np.where(valid_time, np.datetime64("1970-01-01", "us") + whole, np.datetime64("NaT", "us"))
        return Stamped(times, offsets, dated=False, year_known=False)
    options = {name: _days(y, m, d) for name, (y, m, d) in _orders(parts, hints).items()}
    order, asked = _choose(options, seconds, hints)
    days = options[order]
    valid = valid_time & ~np.isnat(days)
    micros = np.where(valid, np.round(seconds * 1e6), 0).astype("timedelta64[us]")
    times[parts.fits] = np.where(valid, days.astype("datetime64[us]") + micros, np.datetime64("NaT", "us"))
    if parts.has("ymd") or parts.has("c"):
        return Stamped(times, offsets, asked=asked, order=order)
    dated, year_known = _with_year(times, hints, order)
    return Stamped(dated, offsets, asked=asked, year_known=year_known, order=order)


def _seconds_of_day(parts: _Parts) -> tuple[Floats, np.ndarray]:
    n = int(parts.fits.sum())
    if not parts.has("h"):
        return np.zeros(n), np.ones(n, dtype=bool)
    hours, minutes, seconds = parts.whole("h"), parts.whole("mi"), parts.whole("s").astype(float)
    valid = (hours <= 24) & (minutes < 60) & (seconds < 61)
    if parts.has("f"):
        seconds = seconds + np.array([float(f"0.{text}") if text else 0.0 for text in parts.texts["f"]])
    if parts.texts.get("half") and parts.has("half"):
        late = np.array([(text or "").lower() == "p" for text in parts.texts["half"]])
        early = np.array([(text or "").lower() == "a" for text in parts.texts["half"]])
        hours = np.where(late & (hours < 12), hours + 12, np.where(early & (hours == 12), 0, hours))
    return hours * 3600.0 + minutes * 60.0 + seconds, valid


def _orders(parts: _Parts, hints: DateHints) -> dict[str, tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Year, month and day under every order that the digits leave open."""
    if parts.has("ymd"):
        whole = parts.whole("ymd")
        return {"ymd": (whole // 10_000, whole // 100 % 100, whole % 100)}
    a = parts.whole("a")
    if parts.has("month"):
        months = np.array([_MONTHS.get((text or "")[:3].lower(), 0) for text in parts.texts["month"]])
        return {"dmy": (_full_year(parts.whole("c")), months, a)}
    b = parts.whole("b")
    if not parts.has("c"):
        year = np.full(len(a), 2000)  # a leap year, so that 29 February can be read; replaced later
        orders = {"dmy": (year, b, a), "mdy": (year, a, b)}
        return {"dmy": orders["dmy"]} if parts.texts["sep"][0] == "." else orders
    c = parts.whole("c")
    if len(parts.texts["a"][0] or "") == 4:
        return {"ymd": (a, b, c)}
    year = _full_year(c)
    orders = {"dmy": (year, b, a), "mdy": (year, a, b)}
    if parts.texts["sep"][0] == ".":  # common practice: dates with points put the day first
        return {"dmy": orders["dmy"]}
    if len(parts.texts["c"][0] or "") == 2:
        orders["ymd"] = (_full_year(a), b, c)
    return {hints.order: orders[hints.order]} if hints.order in orders else orders


def _full_year(years: np.ndarray) -> np.ndarray:
    return np.where(years >= 100, years, np.where(years < 70, years + 2000, years + 1900))


def _days(years: np.ndarray, months: np.ndarray, days: np.ndarray) -> Stamps:
    """Dates, NaT where there is no such day."""
    good = (months >= 1) & (months <= 12) & (days >= 1) & (years >= FIRST_YEAR) & (years <= LAST_YEAR)
    month = ((years - 1970) * 12 + months - 1).astype("datetime64[M]")
    day = month.astype("datetime64[D]") + (days - 1).astype("timedelta64[D]")
    return np.where(good & (day.astype("datetime64[M]") == month), day, np.datetime64("NaT", "D"))


def _choose(options: dict[str, Stamps], seconds: Floats, hints: DateHints) -> tuple[str, bool]:
    """The order that the rows prove, and whether it has to be asked because they prove none."""
    read = {name: int((~np.isnat(days)).sum()) for name, days in options.items()}
    most = max(read.values())
    left = [name for name in options if read[name] == most]
    if len(left) > 1:
        agreeing = [name for name in left if any(np.datetime64(day, "D") in options[name] for day in hints.known)]
        left = agreeing if len(agreeing) == 1 else left
    if len(left) > 1:
        running = [name for name in left if _runs_past_midnight(options[name], seconds)]
        left = running if len(running) == 1 else left
    same = all(np.array_equal(options[left[0]], options[name]) for name in left[1:])
    return left[0], len(left) > 1 and not same


def _runs_past_midnight(days: Stamps, seconds: Floats) -> bool:
    """Whether every change of date is a step of the usual size: the clock runs on from one day into the next.

    The other order of day and month would put weeks between two samples, so this proves the order.
    Files with a step of hours or days prove nothing.
    """
    steps = np.diff(days.astype("datetime64[s]").astype(np.int64) + seconds)
    changes = np.diff(days) != np.timedelta64(0, "D")
    if not changes.any() or changes.all():
        return False
    usual = float(np.median(steps[~changes]))
    return 0 < usual < DAY_S / 8 and bool(((steps[changes] > 0) & (steps[changes] <= 10 * usual)).all())


def _with_year(times: Stamps, hints: DateHints, order: str) -> tuple[Stamps, bool]:
    """Stamps without a year get the one of a date that stands before the rows: no row is later than that date.

    Without such a date the year stays open. A fall of more than half a year is the turn of the year.
    """
    printed = [stamps_of([text], DateHints(order=order)) for text in hints.written]
    dates = [p.times[0] for p in printed if p is not None and p.dated and not np.isnat(p.times[0])]
    if not dates:
        return times, False
    last_day = max(dates).astype("datetime64[D]")
    months = times.astype("datetime64[M]").astype(np.int64)
    falls = np.concatenate([[0], np.cumsum(np.diff(months) < -6)])
    year = int(last_day.astype("datetime64[Y]").astype(np.int64)) + 1970
    shift = year - 2000 - int(falls[-1]) + falls
    dated = _shift_years(times, shift)
    tomorrow = last_day + np.timedelta64(1, "D")
    if (dated[~np.isnat(dated)] >= tomorrow).any():
        dated = _shift_years(times, shift - 1)
    return dated, True


def _shift_years(times: Stamps, years: np.ndarray) -> Stamps:
    month = times.astype("datetime64[M]")
    return month.astype(np.int64).__add__(years * 12).astype("datetime64[M]").astype("datetime64[us]") + (
        times - month.astype("datetime64[us]")
    )


def offset_min(text: str) -> float:
    """Offset from UTC that a zone's letters or digits stand for, nan when they name none for certain. [min]"""
    if text in FIXED_LETTERS:
        return float(FIXED_LETTERS[text])
    match = _OFFSET.fullmatch(text)
    if not match:
        return np.nan
    minutes = int(match[2]) * 60 + int(match[3] or 0)
    if minutes > _FARTHEST_MIN:
        return np.nan
    return float(-minutes if match[1] in "-−" else minutes)
