"""From what somebody types or scans to the code that they mean."""

from __future__ import annotations

from plant.codes import read_typed
from records.items.queries import find_item
from records.ledger.refusals import Refused


def code_of(typed: str) -> str:
    """A code on file as it is typed, else put right where dashes or leading zeros were left out."""
    return typed if find_item(typed) is not None else _read(typed)


def _read(typed: str) -> str:
    try:
        return read_typed(typed)
    except Refused:
        return typed  # the look-up says so, and names look-alikes
