"""Recorder files that come as an xlsx workbook: the sheet with the most rows, as a table of texts."""

from __future__ import annotations

import io
import warnings
import zipfile
import zlib
from datetime import date, datetime, time, timedelta

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException
from openpyxl.worksheet._read_only import ReadOnlyWorksheet

from .fields import Row, Table
from .log import NotALog

# Far beyond any recorder: a stray cell in the last column would make every row as wide as the sheet can be.
_MOST_COLUMNS = 2000
# What the parts of a workbook may be unpacked to; a full sheet of readings is a tenth of it. [bytes]
_MOST_UNPACKED = 1_000_000_000
# What the reader of workbooks raises for parts that are missing, empty, of another kind or no XML.
_UNREADABLE = (InvalidFileException, LookupError, ValueError, TypeError, SyntaxError, AttributeError, OSError,
               ArithmeticError)  # fmt: skip
Cells = dict[int, tuple[object, ...]]


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
            sheets = {sheet.title: _filled_rows(sheet) for sheet in book.worksheets}
    except _UNREADABLE as failure:
        raise NotALog(f"{name} is a workbook that can't be opened; save it again as xlsx.") from failure
    if not sheets:
        raise NotALog(f"{name} is a workbook without a sheet of cells; export the readings again.")
    title, cells = max(sheets.items(), key=lambda sheet: sum(c is not None for row in sheet[1].values() for c in row))
    if not cells:
        raise NotALog(f"{name} is a workbook without readings; export them again.")
    width = max(map(len, cells.values()))
    if width > _MOST_COLUMNS:
        raise NotALog(f"{name} has a cell in column {width}; delete what stands beside the readings and save it again.")
    rows = [Row(n, [*map(_text, row), *[""] * (width - len(row))]) for n, row in cells.items()]
    return Table(rows, None, formulas=_unworked_formulas(raw, title, cells))


def _filled_rows(sheet: ReadOnlyWorksheet) -> Cells:
    """Rows of a sheet that hold something, by number. The size that the sheet states is not believed."""
    sheet.reset_dimensions()
    numbered = enumerate(sheet.iter_rows(values_only=True), 1)
    return {n: tuple(row) for n, row in numbered if any(cell is not None for cell in row)}


def _refuse_damaged(raw: bytes, name: str) -> None:
    """Every part of the workbook is unpacked and held against its checksum before any of it is believed."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            if sum(part.file_size for part in archive.infolist()) > _MOST_UNPACKED:
                raise NotALog(f"{name} is a workbook too large to be one of readings; export them again.")
            broken = archive.testzip()
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, RuntimeError) as failure:
        raise NotALog(f"{name} is a workbook that is damaged, cut off or locked; save it again.") from failure
    if broken:
        raise NotALog(f"{name} is a workbook whose part {broken} is damaged; save it again.")


def _unworked_formulas(raw: bytes, title: str, cells: Cells) -> tuple[str, ...]:
    """Addresses of the cells that hold a formula and no value."""
    if b"<f" not in _sheets_xml(raw):
        return ()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        sheet = load_workbook(io.BytesIO(raw), read_only=True)[title]
        sheet.reset_dimensions()
        return tuple(
            cell.coordinate
            for n, row in enumerate(sheet.iter_rows(), 1)
            for cell, value in zip(row, cells.get(n, (None,) * len(row)), strict=False)
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
