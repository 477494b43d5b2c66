"""Photos on the disk held against the rows that name them."""

from __future__ import annotations

from hashlib import sha256

from ..models import Photo
from ..photos import place_of
from .faults import Fault, Kind


def photo_faults() -> list[Fault]:
    """Photos whose file is not there, or is not the one that its name says."""
    faults = []
    rows = Photo.objects.order_by("pk").values_list("pk", "entry", "sha256")
    for pk, entry, name in rows.iterator(chunk_size=5000):
        fault = _fault_of(name)
        if fault is not None:
            kind, words = fault
            faults.append(Fault(kind, "ledger_photo", words, row=pk, entry=entry, column="sha256"))
    return faults


def _fault_of(name: str) -> tuple[Kind, str] | None:
    try:
        raw = place_of(name).read_bytes()
    except FileNotFoundError:
        return "file-missing", f"The photo {name[:12]} is not among the files."
    if sha256(raw).hexdigest() == name:
        return None
    return "file-changed", f"The photo {name[:12]} is not the one whose hash it bears."
