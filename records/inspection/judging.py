"""A value against its band: in whole steps, as read; on a limit is inside. No Django.

Every verdict of the program on a measured value goes through here.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

WITHIN_EDGE_PART = 10  # the last tenth of the band counts as near its edge: common practice, no source


class Verdict(StrEnum):
    WITHIN = "within"
    EDGE = "near-edge"
    LOW = "outside-low"
    HIGH = "outside-high"
    MISSING = "missing"

    @property
    def is_outside(self) -> bool:
        return self in (Verdict.LOW, Verdict.HIGH)


def judge(value: int | None, lower: int | None, upper: int | None) -> Verdict:
    """Verdict on a value in whole steps; a limit that is not set does not bind.

    Examples
    --------
    >>> judge(34_950_000, 34_850_000, 34_950_000)
    <Verdict.WITHIN: 'within'>
    """
    if value is None:
        return Verdict.MISSING
    if lower is not None and value < lower:
        return Verdict.LOW
    if upper is not None and value > upper:
        return Verdict.HIGH
    return Verdict.WITHIN


def is_near_edge(value: int, lower: int | None, upper: int | None) -> bool:
    """Whether a value within a two-sided band lies in the last tenth before a limit. It never changes a verdict."""
    if lower is None or upper is None:
        return False
    guard = (upper - lower) / WITHIN_EDGE_PART
    return value - lower < guard or upper - value < guard


def worked_out(readings: Sequence[int], how: str) -> int:
    """One value from several readings of one unit: mean (to the nearest step), largest, smallest, or range.

    Several readings of one unit are never a subgroup of a chart. [whole steps]
    """
    if not readings:
        raise ValueError("at least one reading is needed")
    match how:
        case "mean":
            return (2 * sum(readings) + len(readings)) // (2 * len(readings))
        case "largest":
            return max(readings)
        case "smallest":
            return min(readings)
        case "range":
            return max(readings) - min(readings)
    raise ValueError(f"how must be mean, largest, smallest or range, got {how}")


def band_words(lower: str | None, upper: str | None, unit: str) -> str:
    """A band in words, from limits as written; one that is not set does not stand.

    Examples
    --------
    >>> band_words("72.90", "73.10", "mm"), band_words(None, "0.50", "mm")
    ('72.90 to 73.10 mm', 'at most 0.50 mm')
    """
    if lower is None and upper is None:
        return "no limits"
    if lower is None:
        return f"at most {upper} {unit}"
    return f"at least {lower} {unit}" if upper is None else f"{lower} to {upper} {unit}"


FAR_OFF_BANDS = 2  # widths of the band beyond its middle from which on a value is asked for twice: common practice


def is_far_off(value: int, lower: int | None, upper: int | None) -> bool:
    """Whether a value lies so far off a two-sided band that it is more likely a slip than a part. [whole steps]

    Examples
    --------
    >>> is_far_off(349, 348, 350), is_far_off(3490, 348, 350)
    (False, True)
    """
    if lower is None or upper is None or lower == upper:
        return False
    return abs(2 * value - lower - upper) > 2 * FAR_OFF_BANDS * (upper - lower)
