"""Recorder files that come as an xlsx workbook: the sheet with the most rows, as a table of texts."""

from __future__ import annotations

import io
import warnings
import zipfile
import zlib
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from .fields import Row, Table
from .log import NotALog


def table_of_workbook(raw: bytes, name: str) -> Table:
    """Cells of the workbook's largest sheet as texts. Raises NotALog for a workbook that can't be opened.

    Dates follow the base that the workbook states. A formula that no program has worked out yet has no value: it
    is named, never read as nothing or as zero.
    """
    _refuse_damaged(raw, name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # styles and extensions that are not read say nothing about readings
            book = load_workbook(io.BytesIO(raw), read_only=True, data_only=True)
            sheets = [(sheet.title, list(sheet.iter_rows(values_only=True))) for sheet in book.worksheets]
    except (InvalidFileException, KeyError, ValueError, TypeError, SyntaxError) as failure:
        raise NotALog(f"{name} is a workbook that can't be opened; save it again as xlsx.") from failure
    if not sheets:
        raise NotALog(f"{name} is a workbook without a sheet of cells; export the readings again.")
    title, cells = max(sheets, key=lambda sheet: sum(1 for row in sheet[1] for cell in row if cell is not None))
    rows = [Row(n, [_text(cell) for cell in row]) for n, row in enumerate(cells, 1) if any(c is not None for c in row)]
    if not rows:
        raise NotALog(f"{name} is a workbook without readings; export them again.")
    return Table(rows, None, formulas=_unworked_formulas(raw, title, cells))


def _refuse_damaged(raw: bytes, name: str) -> None:
    """Every part of the workbook is unpacked and held against its checksum before any of it is believed."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            broken = archive.testzip()
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, RuntimeError) as failure:
        raise NotALog(f"{name} is a workbook that is damaged, cut off or locked; save it again.") from failure
    if broken:
        raise NotALog(f"{name} is a workbook whose part {broken} is damaged; save it again.")


def _unworked_formulas(raw: bytes, title: str, cells: Sequence[Sequence[object]]) -> tuple[str, ...]:
    """Addresses of the cells that hold a formula and no value."""
    if b"<f" not in _sheets_xml(raw):
        return ()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        sheet = load_workbook(io.BytesIO(raw), read_only=True)[title]
        return tuple(
            cell.coordinate
            for row, values in zip(sheet.iter_rows(), cells, strict=False)
            for cell, value in zip(row, values, strict=False)
            if value is None and isinstance(cell.value, str) and cell.value.startswith("=")
        )


def _sheets_xml(raw: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        names = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        return b"".join(archive.read(name) for name in names)


def _text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        # Stored day numbers lie a hair beside the second they mean.
        rounded = cell + timedelta(microseconds=500)
        return rounded.replace(microsecond=rounded.microsecond // 1000 * 1000).isoformat(sep=" ")
    if isinstance(cell, time):
        return cell.replace(microsecond=0).isoformat()
    if isinstance(cell, timedelta):
        total = round(cell.total_seconds())
        return f"{total // 3600}:{total // 60 % 60:02d}:{total % 60:02d}"
    if isinstance(cell, (date, float)):
        return cell.isoformat() if isinstance(cell, date) else repr(cell)
    return str(cell)
