"""A file in which unsent entries leave a tablet: named fields in JSON, a sum over them, and photos. No Django."""

from __future__ import annotations

import base64
import binascii
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from records.ledger.refusals import Refused

from .fields import strict_json

WHAT = "framethread entries of a tablet"


@dataclass(frozen=True)
class TabletFile:
    """What left a tablet: its entries, and photos that they name."""

    entries: list[Any]
    photos: list[bytes]


def read_file(body: bytes) -> TabletFile:
    """What is in a file. Refuses ``malformed`` for another file, or one that was cut off or changed on its way."""
    if not body:
        raise Refused("malformed", "Choose the file that the tablet saved.")
    try:
        told = strict_json(body)
    except Refused as wrong:
        raise Refused("malformed", "This file can't be read. Save it on the tablet once more.") from wrong
    if not isinstance(told, dict) or told.get("what") != WHAT or not isinstance(told.get("entries"), str):
        raise Refused(
            "malformed", "This is no file of a tablet. Choose the one that was saved on “Kept on this tablet”."
        )
    if sha256(told["entries"].encode()).hexdigest() != told.get("sum"):
        raise Refused("malformed", "This file was changed or cut off on its way. Save it on the tablet once more.")
    entries = strict_json(told["entries"])
    if not isinstance(entries, list):
        raise Refused("malformed", "This file holds no entries. Save it on the tablet once more.")
    return TabletFile(entries, _photos(told.get("photos", {})))


def _photos(told: object) -> list[bytes]:
    """Pictures under their hashes. Refuses ``malformed`` where one was changed on its way."""
    try:
        pictures = {name: base64.b64decode(text, validate=True) for name, text in dict(told).items()}  # type: ignore[call-overload]
    except (binascii.Error, TypeError, ValueError) as wrong:
        raise Refused("malformed", "The photos in this file can't be read. Save it on the tablet once more.") from wrong
    if any(sha256(raw).hexdigest() != name for name, raw in pictures.items()):
        raise Refused("malformed", "A photo in this file was changed on its way. Save it on the tablet once more.")
    return list(pictures.values())
