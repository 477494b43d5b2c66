"""Photos on the disk held against the rows that name them."""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import sha256

from ..models import Photo
from ..photos import place_of
from ..refusals import Refused
from .faults import Fault, Kind
from .reading import pages

TABLE = "ledger_photo"


def photo_faults(told: Iterable[Fault] = ()) -> list[Fault]:
    """Photos whose file is not there or is another one, but for rows of which a fault is told already."""
    named = {fault.row for fault in told if fault.table == TABLE}
    faults = []
    for page in pages(Photo.objects.all(), "pk", "entry_id", "sha256"):
        for pk, entry, name in page:
            fault = None if pk in named else _fault_of(name)
            if fault is not None:
                kind, words = fault
                faults.append(Fault(kind, TABLE, words, row=pk, entry=entry, column="sha256"))
    return faults


def _fault_of(name: str) -> tuple[Kind, str] | None:
    try:
        raw = place_of(name).read_bytes()
    except (FileNotFoundError, Refused):
        return "file-missing", f"The photo {name[:12]} is not among the files."
    if sha256(raw).hexdigest() == name:
        return None
    return "file-changed", f"The photo {name[:12]} is not the one whose hash it bears."
