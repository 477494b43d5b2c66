"""Photos of entries: files below VAR_DIR under the hash of their bytes, and the facts that name them.

A file is written once, and before the row that names it. What is sent twice is there already.
"""

from __future__ import annotations

import os
import re
from collections import defaultdict
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from tempfile import NamedTemporaryFile

from django.conf import settings

from .models import Photo
from .photographs import KIND, Photograph, photograph, sides_of
from .refusals import Refused

NAME = re.compile(r"[0-9a-f]{64}")
MOST_PHOTOS = 12  # of one entry. A choice of this project, no source.


def keep_photo(raw: bytes) -> Photograph:
    """Keep the picture that was sent and tell its hash. Refuses ``no-picture``."""
    kept = photograph(raw)
    place = place_of(kept.sha256)
    if not place.exists():
        place.parent.mkdir(parents=True, exist_ok=True)
        with NamedTemporaryFile(dir=place.parent, prefix=".coming-", delete=False) as draft:
            draft.write(kept.raw)
            draft.flush()
            os.fsync(draft.fileno())
        _named(Path(draft.name), place)
    return kept


def _named(draft: Path, place: Path) -> None:
    """Give a file that is whole its name, and let the name reach the disk; one that is there stays."""
    with suppress(FileExistsError):
        os.link(draft, place)
    draft.unlink()
    folder = os.open(place.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def place_of(name: str) -> Path:
    """Where the photo of a hash lies, or would lie. Refuses what is no such hash."""
    if not NAME.fullmatch(name):
        raise Refused("unknown", "A photo is named by the 64 signs of its SHA-256.")
    return Path(settings.MEDIA_ROOT) / "photos" / name[:2] / f"{name}.jpg"


def missing_of(names: Iterable[str]) -> list[str]:
    """Photos among these that have not come."""
    return [name for name in names if not place_of(name).exists()]


def photo_rows(names: Iterable[str]) -> list[Photo]:
    """Rows that name photos, each once. Refuses ``photo-missing`` for one whose file is not there."""
    rows = []
    for name in dict.fromkeys(names):
        try:
            raw = place_of(name).read_bytes()
        except FileNotFoundError as lost:
            raise Refused("photo-missing", "A photo of this entry has not come. Send it, then the entry.") from lost
        width, height = sides_of(raw)
        rows.append(Photo(sha256=name, kind=KIND, bytes=len(raw), width=width, height=height))
    return rows


def photos_of(entries: Iterable[int]) -> dict[int, list[Photo]]:
    """Photos by the entry that carries them, in the order told."""
    found: dict[int, list[Photo]] = defaultdict(list)
    for photo in Photo.objects.filter(entry__in=list(entries)).order_by("pk"):
        found[photo.entry_id].append(photo)
    return found
