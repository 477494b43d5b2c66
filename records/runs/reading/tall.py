"""Files with one line for each channel and stamp: turned to columns, with what a flag calls invalid left out."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .axis import Axis, Columns, axis_of, rows_of
from .headings import heading_of
from .log import Channel, Event, Findings, Floats, Kind, Whole
from .numbers import decimal_mark, numbers_of
from .preamble import Preamble
from .source import Asked, Source, Told, placed
from .values import channel_of, column_of, take_out_codes

_TAG = re.compile(
    r"(?i)tag(?: ?name)?|variable|var(?:_?name)?|channel|sensor|signal|point(?: ?name)?|kanal|messstelle"
    r"|name|item|parameter"
)
# Under these names whole numbers are names of channels too.
_NUMBERED = re.compile(r"(?i)(?:tag|channel|sensor|probe|kanal|messstelle)(?:[ _]?(?:no|nr|id|number|nummer|#)\.?)?")
_VALUE = re.compile(r"(?i)(?:var_?)?(?:value|val|wert|messwert|reading|valor|valeur)")
_VALID = re.compile(r"(?i)valid(?:ity)?|quality|status|good|ok|g(?:ü|ue)ltig\w*|state")
_GOOD_WORDS = frozenset({"1", "192", "good", "ok", "valid", "true", "yes", "ja", "g"})
# A hundred years: a time gone by that long is none. [s]
_LONGEST_S = 100 * 365 * 86_400.0
# A controller's own marks among the tags, such as a stop of the recording.
_MARKER = re.compile(r"\$.*\$?")


@dataclass(frozen=True)
class Tall:
    """Positions of the columns of such a file; ``valid`` is None without a flag."""

    tag: int
    value: int
    valid: int | None


def tall_of(columns: Columns) -> Tall | None:
    """Where tag, value and flag stand, None for a file with one column for each channel."""
    names = [heading.heading for heading in columns.headings]
    tags = [n for n, kind in enumerate(columns.kinds) if kind == "T" and _TAG.fullmatch(names[n])]
    tags = tags or [n for n, name in enumerate(names) if _NUMBERED.fullmatch(name) and _are_whole(columns.cells[n])]
    values = [n for n, kind in enumerate(columns.kinds) if kind == "N" and _VALUE.fullmatch(columns.headings[n].name)]
    if len(tags) != 1 or len(values) != 1:
        return None
    valid = next((n for n, name in enumerate(names) if _VALID.fullmatch(name) and n not in (*tags, *values)), None)
    seen = Counter(cell.strip() for cell in columns.cells[tags[0]])
    if len(seen) > max(64, len(columns.cells[tags[0]]) // 3):
        return None
    return Tall(tags[0], values[0], valid)


def _are_whole(cells: Sequence[str]) -> bool:
    return all(cell.strip().isdecimal() for cell in cells)


def _markers(columns: Columns, tall: Tall) -> np.ndarray:
    """Rows that are marks of the controller and no readings."""
    return np.array([_MARKER.fullmatch(cell.strip()) is not None for cell in columns.cells[tall.tag]], dtype=bool)


def _invalid(columns: Columns, tall: Tall, lines: Whole, findings: Findings) -> np.ndarray:
    """Rows whose flag says that their value is none, each told."""
    if tall.valid is None:
        return np.zeros(len(lines), dtype=bool)
    flags = [cell.strip() for cell in columns.cells[tall.valid]]
    bad = np.array([flag.lower() not in _GOOD_WORDS for flag in flags], dtype=bool)
    for n in np.flatnonzero(bad):
        heading = columns.headings[tall.valid].name
        words = f"Line {lines[n]} is flagged {heading} {flags[n]}: its value is no reading."
        findings.add(Kind.ERROR_CODE, int(lines[n]), words)
    return bad


def _exact_repeats(columns: Columns) -> np.ndarray:
    """Rows that are, to the letter, a row above them."""
    seen: set[tuple[str, ...]] = set()
    repeats = []
    for row in zip(*columns.cells, strict=True):
        repeats.append(row in seen)
        seen.add(row)
    return np.array(repeats, dtype=bool)


@dataclass(frozen=True)
class Spread:
    """Values by tag on one common axis. ``first`` is the row at which each place of the axis first stands.

    ``rows`` counts for each tag the rows at each place.
    """

    names: tuple[str, ...]
    values: tuple[Floats, ...]
    rows: tuple[Whole, ...]
    first: Whole


def spread(numbers: Floats, tags: Sequence[str], places: Whole) -> Spread:
    """Turn rows to columns; ``places`` are the times of the rows as whole numbers.

    Two values of one tag at one time stand on two places of the axis, so that none is lost.
    """
    count: Counter[tuple[str, int]] = Counter()
    nth = np.empty(len(tags), dtype=np.int64)
    for n, key in enumerate(zip(tags, places.tolist(), strict=True)):
        nth[n] = count[key]
        count[key] += 1
    _, first, inverse = np.unique(np.stack([places, nth]), axis=1, return_index=True, return_inverse=True)
    inverse = inverse.ravel()
    names = tuple(dict.fromkeys(tags))
    number = {name: n for n, name in enumerate(names)}
    of_tag = np.array([number[tag] for tag in tags])
    values, rows = [], []
    for n in range(len(names)):
        column = np.full(len(first), np.nan)
        column[inverse[of_tag == n]] = numbers[of_tag == n]
        values.append(column)
        rows.append(np.bincount(inverse[of_tag == n], minlength=len(first)))
    return Spread(names, tuple(values), tuple(rows), first)


def read_tall(source: Source, columns: Columns, lines: Whole, said: Preamble, tall: Tall, asked: Asked,
              findings: Findings) -> Told:  # fmt: skip
    """Channels and timeline of a file with one line for each channel and stamp."""
    markers, repeats = _markers(columns, tall), _exact_repeats(columns)
    events = [Event(int(lines[n]), columns.cells[tall.tag][int(n)].strip()) for n in np.flatnonzero(markers)]
    words = "Line {line} repeats an earlier line to the letter. It was set aside."
    findings.add_each(Kind.TIME_TWICE, lines[repeats & ~markers], words)
    axis = axis_of(columns, said)
    timeless = ~(markers | repeats) & np.isnan(_places(axis))
    findings.add_each(Kind.NO_TIME, lines[timeless], "Line {line} has no readable time. It was set aside.")
    keep = ~(markers | repeats | timeless)
    columns, lines, axis = columns.rows(keep), lines[keep], rows_of(axis, keep)
    cells = columns.cells[tall.value]
    mark = decimal_mark(cells)
    numbers = np.where(_invalid(columns, tall, lines, findings), np.nan, numbers_of(cells, mark).values)
    tags = [cell.strip() for cell in columns.cells[tall.tag]]
    table = spread(numbers, tags, _places(axis).astype(np.int64))
    line = placed(rows_of(axis, table.first), lines[table.first], source, said, asked, findings)
    channels = _channels(table, _units_of(columns, tags), mark, lines[table.first], line.kept, findings)
    findings.notes.extend(_renamed(table))
    late = sum(int(rows[~line.kept].sum()) for rows in table.rows)
    aside = source.sorted.set_aside + int((repeats & ~markers).sum()) + int(timeless.sum())
    return Told(len(lines) + aside, aside + late, channels, source.sorted.events + events, line, lines[table.first],
                mark)  # fmt: skip


def _places(axis: Axis) -> Floats:
    """Whole microseconds that order the rows, nan without a time."""
    if axis.times is None:
        return np.round(np.where(np.abs(axis.seconds) < _LONGEST_S, axis.seconds, np.nan) * 1e6)
    return np.where(np.isnat(axis.times), np.nan, axis.times.astype("datetime64[us]").astype(np.int64))


def _units_of(columns: Columns, tags: Sequence[str]) -> dict[str, str]:
    """Unit of each tag, where a column names it."""
    for heading, cells in zip(columns.headings, columns.cells, strict=True):
        if heading.name.strip().lower() in ("unit", "units", "einheit"):
            return dict(zip(tags, (cell.strip() for cell in cells), strict=True))
    return {}


def _channels(table: Spread, units: dict[str, str], mark: str | None, lines: Whole, kept: np.ndarray,
              findings: Findings) -> list[Channel]:  # fmt: skip
    columns = []
    for n, (name, values) in enumerate(zip(table.names, table.values, strict=True)):
        columns.append(column_of(n, heading_of(name, units.get(name, "")), values, mark, findings))
    channels = []
    for column, rows in zip(take_out_codes(columns, lines, findings), table.rows, strict=True):
        channel = channel_of(column, kept)
        channels.append(replace(channel, missing=int(rows[kept].sum()) - channel.n))
    return channels


def _renamed(table: Spread) -> list[str]:
    """Words on pairs of tags that may be one sensor: one begins where the other ends, and the letters agree."""
    found = []
    spans = [np.flatnonzero(np.isfinite(column)) for column in table.values]
    for n, earlier in enumerate(table.names):
        for m, later in enumerate(table.names):
            follows = n != m and spans[n].size and spans[m].size and spans[n][-1] < spans[m][0]
            if follows and _bare(earlier) == _bare(later):
                found.append(f"{later} begins where {earlier} ends: perhaps one sensor under two names. Not joined.")
    return found


def _bare(name: str) -> str:
    letters = re.sub(r"[^a-z0-9]", "", name.lower())
    return re.sub(r"0+(?=\d)", "", letters)
