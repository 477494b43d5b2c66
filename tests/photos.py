"""Pictures for tests: as a camera sends them, and as they are kept."""

from io import BytesIO

from PIL import Image

from records.ledger.photos import keep_photo

PLACE = {
    0x010F: "a maker",
    0x0132: "2026:03:09 08:00:00",
}  # maker and day, as EXIF numbers them (CIPA DC-008), from memory


def a_picture(
    *, size: tuple[int, int] = (40, 30), form: str = "JPEG", camera: bool = False, colour: str = "teal"
) -> bytes:
    """A picture; one of a camera has something written beside it."""
    exif = Image.Exif()
    if camera:
        for tag, words in PLACE.items():
            exif[tag] = words
    out = BytesIO()
    Image.new("RGB", size, colour).save(out, form, exif=exif)
    return out.getvalue()


def a_photo(colour: str = "teal") -> str:
    """The hash of a photo that is kept."""
    return keep_photo(a_picture(colour=colour)).sha256
