"""Why things are held or marked, in words. Codes stand in the records; people read these."""

from __future__ import annotations

# Chosen by a person who holds something.
CHOSEN: dict[str, str] = {
    "dimension": "a dimension",
    "cure": "a cure or vacuum run",
    "material": "material or its certificate",
    "surface": "surface or bond",
    "doubt": "a doubt about the record",
    "recall": "named in a recall",
    "other": "something else",
}
# Causes that hold or mark by themselves, and reasons that acts give.
CAUSES: dict[str, str] = {
    "run-failed": "a run outside its recipe",
    "measured-outside": "a measure outside its band",
    "reading-outside": "a reading outside its band",
    "leak-test-missing": "filled without a leak test on file",
    "held": "made from something that was held",
    "expired": "used past its end",
    "not-cleared": "used before it was accepted",
    "not-here": "booked out at the time",
    "scrapped": "scrapped before",
    "already-used": "in another unit already",
    "out-of-order": "a step is not on file that comes first",
    "not-qualified": "done by somebody not on the list",
    "over-drawn": "more taken than it should hold",
    "not-booked-in": "used and not booked in",
    "gauge-overdue": "a gauge past its check",
    "loop": "made from itself by what was scanned",
    "scale-too-coarse": "a scale that can't judge the ratio",
    "off-ratio": "mixed off its ratio",
    "gate-open": "let go with a line of the gate open",
    "not-released": "shipped without a release",
    "labels-swapped": "two labels were swapped",
    "supplier-call": "a call from the supplier",
    "field-failure": "a failure in use",
    "conflict": "sent twice with different content",
    "told": "told by a person",
}


def reason_words(code: str) -> str:
    """Words of a reason; a code that is not on the list is told as it stands.

    Examples
    --------
    >>> reason_words("run-failed"), reason_words("wet-floor")
    ('a run outside its recipe', 'wet floor')
    """
    return CHOSEN.get(code) or CAUSES.get(code) or code.replace("-", " ")
