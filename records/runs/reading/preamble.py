"""What the lines before the rows say: dates, start of the run, zone, sample step, barometer."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .fields import Row
from .numbers import decimal_mark, number_of
from .stamps import DateHints, stamps_of
from .units import ABSOLUTE, PRESSURE, between, unit_of

_ISO_DATE = re.compile(r"\b\d{4}[-/.]\d{1,2}[-/.]\d{1,2}\b")
_NAMED_DATE = re.compile(r"\b\d{1,2}[-. ]+[^\W\d]{3,9}\.?[-. ,]{1,2}\d{4}\b|\b[^\W\d]{3,9}\.? \d{1,2},? \d{4}\b")
_OPEN_DATE = re.compile(r"\b\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4}\b")
_TIME = re.compile(r"\b\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?(?: ?[AaPp]\.?[Mm]\b)?")
_DAY_FIRST = re.compile(r"(?i)\b(?:dd?|tt?)[-/. ]mm?[-/. ](?:y|j|a)")
_MONTH_FIRST = re.compile(r"(?i)\bmm?[-/. ](?:dd?|tt?)[-/. ](?:y|j|a)")
_START = re.compile(r"(?i)\b(?:start|begin|began|beginn|gestartet|taken|recorded|measured|date of test|test date)")
_NO_START = re.compile(r"(?i)export|print|download|today|ausdruck|created|written")
_STEP = re.compile(r"(?i)(?:delta_?x|(?:sample|sampling|log(?:ging)?)? ?(?:interval|period|step|rate)|dt|abtast\w*)")
_BAROMETER = re.compile(r"(?i)barom|ambient pressure|atmospheric|luftdruck|umgebungsdruck")
_WITH_UNIT = re.compile(r"([+-]?\d[\d.,]*)\s*([A-Za-z\"]+)?")


@dataclass(frozen=True)
class Preamble:
    """Facts from the lines before the rows.

    ``start`` is when the run began, as written. ``start_text`` is the line that says so. ``step_s`` is the time
    between samples. [s] ``barometer_mbar`` is the ambient pressure at the site, absolute. [mbar]
    """

    dates: DateHints
    start: np.datetime64 | None
    start_text: str
    step_s: float | None
    barometer_mbar: float | None
    texts: tuple[str, ...]


def preamble_of(rows: Sequence[Row], headings: Sequence[str], order: str | None) -> Preamble:
    """Facts that stand before the rows; ``order`` of day and month is one that the person gave."""
    texts = tuple(" ".join(cell.strip() for cell in row.fields if cell.strip()) for row in rows)
    dates = _dates(texts, headings, order)
    start, start_text = _start(texts, dates)
    step_s, begun = _series(rows, dates)
    if begun is not None:
        start, start_text = begun, "the lines Date and Time before the rows"
    return Preamble(dates, start, start_text, step_s, _barometer(rows), texts)


def _dates(texts: Sequence[str], headings: Sequence[str], order: str | None) -> DateHints:
    everything = [*texts, *headings]
    if order is None:
        day_first = any(_DAY_FIRST.search(text) for text in everything)
        month_first = any(_MONTH_FIRST.search(text) for text in everything)
        order = {(True, False): "dmy", (False, True): "mdy"}.get((day_first, month_first))
    known, written = [], []
    for text in texts:
        for match in (*_ISO_DATE.finditer(text), *_NAMED_DATE.finditer(text), *_OPEN_DATE.finditer(text)):
            read = stamps_of([match[0]], DateHints(order))
            if read is None or np.isnat(read.times[0]):
                continue
            if read.asked:
                written.append(match[0])
            else:
                known.append(read.times[0].astype("datetime64[D]").item())
    return DateHints(order, tuple(known), (*(day.isoformat() for day in known), *written))


def _start(texts: Sequence[str], dates: DateHints) -> tuple[np.datetime64 | None, str]:
    """Date and time of the one line that says when the run began; None when there is none or more than one."""
    found = []
    for text in texts:
        if not _START.search(text) or _NO_START.search(text.split(":")[0]):
            continue
        day = _ISO_DATE.search(text) or _NAMED_DATE.search(text) or _OPEN_DATE.search(text)
        time = _TIME.search(text)
        if day and time:
            read = stamps_of([f"{day[0]} {time[0]}"], dates)
            if read is not None and read.dated and not read.asked and not np.isnat(read.times[0]):
                found.append((read.times[0], text))
    return found[0] if len(found) == 1 else (None, "")


def _series(rows: Sequence[Row], dates: DateHints) -> tuple[float | None, np.datetime64 | None]:
    """Sample step and start of a file that writes them once instead of a stamp in each row."""
    said: dict[str, str] = {}
    step_text = ""
    for row in rows:
        values = {cell.strip() for cell in row.fields[1:] if cell.strip()}
        if len(values) != 1:  # channels with steps or starts of their own have no common axis
            continue
        key = row.fields[0].strip().rstrip(":").lower()
        said[key] = next(iter(values))
        step_text = said[key] if _STEP.fullmatch(key) else step_text
    step = number_of(step_text.split(" ")[0], decimal_mark([step_text]) or ".") if step_text else None
    unit = unit_of(step_text.partition(" ")[2]) if " " in step_text else None
    step_s = step * (between(unit.unit, "s") or (1.0, 0))[0] * unit.factor if step and unit else step
    if "date" not in said or "time" not in said or not step_s:
        return step_s, None
    read = stamps_of([f"{said['date']} {said['time']}"], dates)
    certain = read is not None and not read.asked and not np.isnat(read.times[0])
    return step_s, read.times[0] if read is not None and certain else None


def _barometer(rows: Sequence[Row]) -> float | None:
    """Ambient pressure that the file names, None when it names none or not its unit."""
    for row in rows:
        text = " ".join(row.fields)
        if not _BAROMETER.search(text):
            continue
        for match in _WITH_UNIT.finditer(text):
            unit = unit_of(match[2] or "")
            number = number_of(match[1], decimal_mark([match[1]]) or ".")
            if unit and unit.quantity in (PRESSURE, ABSOLUTE) and number is not None:
                factor, offset = between(unit.unit, "mbar") or (1.0, 0.0)
                return number * unit.factor * factor + offset
    return None
