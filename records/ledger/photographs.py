"""A photograph as it is kept: a JPEG of a screen's size in which nothing stands but the picture. No Django.

A camera writes the place, the day and the person's telephone beside the picture: none of it is kept. What comes bare
already, as a tablet of the floor makes it, stays byte for byte, so that its hash is the one its maker signed.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO

from PIL import Image, ImageOps

from .refusals import Refused

# Sizes are choices of this project, no source: a label stays readable, and a shift of photos fits a tablet.
LONGEST_SIDE = 1600  # [px]
MOST_BYTES = 700_000
MOST_SENT = 20_000_000
MOST_PIXELS = 80_000_000
QUALITY = 82
KIND = "image/jpeg"
READ = ("JPEG", "PNG", "WEBP")
NO_PICTURE = "This is no picture that can be kept. Send a JPEG, PNG or WebP, or take the photo once more."

# Markers of JPEG (ITU-T T.81, table B.1), from memory: frames, tables, the scan, and the one head without a thumbnail.
START, END, SCAN, HEAD = 0xD8, 0xD9, 0xDA, 0xE0
OF_THE_PICTURE = frozenset({0xC0, 0xC1, 0xC2, 0xC4, 0xDB, 0xDD, SCAN})
BARE_HEAD = 16  # bytes of a JFIF head that carries no thumbnail
WITHIN_SCAN = frozenset({0x00, *range(0xD0, 0xD8)})


@dataclass(frozen=True)
class Photograph:
    """A picture as it is kept: its bytes, their SHA-256, and its sides. [px]"""

    raw: bytes
    sha256: str
    width: int
    height: int


def photograph(raw: bytes) -> Photograph:
    """The picture of what was sent, without anything a camera wrote beside it. Refuses ``no-picture``."""
    if not raw:
        raise Refused("no-picture", "This picture is empty. Take the photo once more.")
    if len(raw) > MOST_SENT:
        raise Refused("no-picture", "This picture is larger than 20 MB. Send a smaller one.")
    picture = _opened(raw)
    if not (is_bare(raw) and len(raw) <= MOST_BYTES and max(picture.size) <= LONGEST_SIDE):
        raw, picture = _drawn_afresh(picture)
    return Photograph(raw, sha256(raw).hexdigest(), picture.width, picture.height)


def sides_of(raw: bytes) -> tuple[int, int]:
    """Width and height of a picture that is kept. [px]"""
    return Image.open(BytesIO(raw), formats=READ).size


def _opened(raw: bytes) -> Image.Image:
    """The picture, read to its last dot: one that breaks off is none."""
    try:
        picture = Image.open(BytesIO(raw), formats=READ)
        if picture.width * picture.height > MOST_PIXELS:
            raise Refused("no-picture", "This picture has more than 80 million dots. Send a smaller one.")
        picture.load()
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError, Image.DecompressionBombWarning) as wrong:
        raise Refused("no-picture", NO_PICTURE) from wrong
    return picture


def _drawn_afresh(picture: Image.Image) -> tuple[bytes, Image.Image]:
    """The picture upright, in plain colours on white, no larger than is kept."""
    picture = ImageOps.exif_transpose(picture)
    if picture.mode in ("RGBA", "LA", "PA", "P"):
        picture = picture.convert("RGBA")
        white = Image.new("RGBA", picture.size, "white")
        picture = Image.alpha_composite(white, picture)
    picture = picture.convert("RGB")
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    bare = Image.new("RGB", picture.size)
    bare.paste(picture)  # what stands beside a picture travels with its object: a new one has none
    for quality in (QUALITY, 70, 50, 30, 10):
        out = BytesIO()
        bare.save(out, "JPEG", quality=quality)
        if out.tell() <= MOST_BYTES:
            break
    return out.getvalue(), bare


def is_bare(raw: bytes) -> bool:
    """Whether bytes are a JPEG with nothing in it but the picture, and nothing after it."""
    if raw[:2] != bytes((0xFF, START)):
        return False
    at = 2
    while at + 4 <= len(raw) and raw[at] == 0xFF:
        marker, length = raw[at + 1], int.from_bytes(raw[at + 2 : at + 4], "big")
        is_head = marker == HEAD and length == BARE_HEAD and raw[at + 4 : at + 9] == b"JFIF\0"
        if not (is_head or marker in OF_THE_PICTURE):
            return False
        at += 2 + length
        if marker == SCAN:
            at = _end_of_scan(raw, at)
            if raw[at:] == bytes((0xFF, END)):
                return True
    return False


def _end_of_scan(raw: bytes, at: int) -> int:
    """Where the next marker stands that ends a scan; the end of the bytes where none does."""
    while (at := raw.find(b"\xff", at)) >= 0 and at + 1 < len(raw):
        if raw[at + 1] not in WITHIN_SCAN:
            return at
        at += 2
    return len(raw)
