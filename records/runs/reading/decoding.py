"""From bytes to lines of text: what kind of file this is, its encoding, bytes that a loss of power left behind."""

from __future__ import annotations

import codecs
import io
import re
import zipfile
from dataclasses import dataclass

from .log import NotALog

WORKBOOK = "a workbook"
ZIP = b"PK\x03\x04"

# First bytes of files that are often picked by mistake. Signatures: the formats' own published specifications.
_OTHER_KINDS = {
    b"%PDF": "a PDF",
    b"\x89PNG": "a PNG picture",
    b"\xff\xd8\xff": "a JPEG picture",
    b"GIF8": "a GIF picture",
    b"BM": "a bitmap picture",
    b"II*\x00": "a TIFF picture",
    b"MM\x00*": "a TIFF picture",
    b"\xd0\xcf\x11\xe0": "an old binary workbook or document, or a workbook locked by a password",
    b"\x1f\x8b": "a gzip archive",
    b"7z\xbc\xaf": "a 7z archive",
    b"Rar!": "a rar archive",
    b"BZh": "a bzip2 archive",
    b"\x7fELF": "a program",
    b"MZ": "a program",
    b"SQLite format 3": "a database",
    b"{\\rtf": "a text document (RTF)",
    b"\x89HDF": "an HDF5 file",
    b"<?xml": "an XML file",
    b"<!DOCTYPE": "a web page",
    b"<html": "a web page",
    b"<table": "a web page",
}
_BOMS = (
    (codecs.BOM_UTF8, "utf-8", "utf-8 with BOM"),
    (codecs.BOM_UTF32_LE, "utf-32-le", "utf-32-le with BOM"),
    (codecs.BOM_UTF32_BE, "utf-32-be", "utf-32-be with BOM"),
    (codecs.BOM_UTF16_LE, "utf-16-le", "utf-16-le with BOM"),
    (codecs.BOM_UTF16_BE, "utf-16-be", "utf-16-be with BOM"),
)
# Control characters that no text export writes; tab, line ends, form feed and the end-of-file sign of old systems may.
_BINARY = re.compile(rb"[\x01-\x08\x0e-\x19\x1b-\x1f\x7f]")
_BREAKS = re.compile(r"\r\n|\n|\r")
# No recorder writes a longer line: some hundred channels need a few thousand signs.
_LONGEST_LINE = 200_000
# Other zip files that look like workbooks: what a part's name gives away.
_OTHER_ZIPS = {"word/": "a text document", "ppt/": "a slide show", "content.xml": "an OpenDocument file"}
# The degree sign of other code pages before C or F: the byte means something else in cp1252.
_ODD_DEGREES = ((re.compile(rb"\xf8[CF]"), "cp850"), (re.compile(rb"\xa1[CF]\b"), "mac_roman"))


@dataclass(frozen=True)
class Text:
    """A text file as numbered lines (line 1 is ``lines[0]``); ``ended`` says whether the last line has its end.

    ``broken`` are the lines that held NUL bytes: there the recorder lost its power while it wrote.
    """

    lines: list[str]
    encoding: str
    ended: bool
    broken: frozenset[int] = frozenset()


def is_workbook(raw: bytes, name: str) -> bool:
    """Whether the bytes are an xlsx workbook. Raises NotALog for another zip file."""
    if not raw.startswith(ZIP):
        return False
    parts = _parts_of(raw)
    if any(part.startswith("xl/") for part in parts):
        return True
    for start, kind in _OTHER_ZIPS.items():
        if any(part.startswith(start) for part in parts):
            raise NotALog(f"{name} is {kind}, no recorder file; export the readings as CSV or as an xlsx workbook.")
    if not parts and b"[Content_Types].xml" in raw[:4000]:  # cut off: its list of parts is lost
        return True
    raise NotALog(f"{name} is a zip archive; unpack it and give the recorder file in it.")


def _parts_of(raw: bytes) -> list[str]:
    """Names of the files in a zip archive, none when it is damaged."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            return archive.namelist()
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return []


def text_of(raw: bytes, name: str) -> Text:
    """Lines of a text file. Raises NotALog for an empty, binary or other kind of file."""
    if not raw.strip(b"\x00\r\n\t \xef\xbb\xbf\xff\xfe"):
        raise NotALog(f"{name} is empty; export it from the recorder again.")
    head = raw[:400].lstrip(b"\xef\xbb\xbf\r\n\t ").lower()
    for start, kind in _OTHER_KINDS.items():
        if (head if start.startswith(b"<") else raw[: len(start)].lower()).startswith(start.lower()):
            raise NotALog(
                f"{name} is {kind}, no recorder file; export the readings as text (CSV) or as an xlsx workbook."
            )
    text, encoding = _decoded(raw, name)
    # Files put one behind the other leave the mark of their encoding in the middle.
    lines = _BREAKS.split(text.rstrip("\x1a").replace("\ufeff", ""))
    broken = frozenset(n for n, line in enumerate(lines, 1) if "\x00" in line)
    if broken:
        encoding = f"{encoding} with NUL bytes"
        lines = [line.replace("\x00", "") for line in lines]
    ended = lines[-1] == ""
    for n, line in enumerate(lines, 1):
        if len(line) > _LONGEST_LINE:
            raise NotALog(f"{name}: line {n} has {len(line):,} signs, no row of a recorder; export the file again.")
    return Text(lines[:-1] if ended else lines, encoding, ended, broken)


def _decoded(raw: bytes, name: str) -> tuple[str, str]:
    for bom, codec, label in _BOMS:
        if raw.startswith(bom):
            try:
                return raw[len(bom) :].decode(codec), label
            except UnicodeDecodeError:
                # A file cut in the middle of a character; the rest of it is good.
                return raw[len(bom) :].decode(codec, errors="ignore"), label
    wide = _wide_codec(raw)
    if wide:
        return raw.decode(wide, errors="ignore"), wide
    if len(_BINARY.findall(raw)) > len(raw) / 200:
        raise NotALog(f"{name} is binary, not text; export the readings as text (CSV) or as an xlsx workbook.")
    if raw.isascii():
        return raw.decode("ascii"), "ascii"
    try:
        return raw.decode("utf-8"), "utf-8"
    except UnicodeDecodeError as failure:
        if failure.start >= len(raw) - 3:  # cut in the middle of the last character
            return raw[: failure.start].decode("utf-8"), "utf-8"
    codec = next((codec for degrees, codec in _ODD_DEGREES if degrees.search(raw)), "cp1252")
    return raw.decode(codec, errors="replace"), codec


def _wide_codec(raw: bytes) -> str | None:
    """UTF-16 without its mark: every second byte of digits and separators is zero."""
    head = raw[:4000]
    half = len(head) // 2
    if half < 8:
        return None
    if head[1::2].count(0) > 0.8 * half and head[0::2].count(0) < 0.1 * half:
        return "utf-16-le"
    if head[0::2].count(0) > 0.8 * half and head[1::2].count(0) < 0.1 * half:
        return "utf-16-be"
    return None
