"""Lists that people work through: sorted and paged by the address, filtered by a form, taken along as CSV or XLSX.

    page = list_page(request, RunTable(rows), name="runs", filtered=found)
    return page.file or render(request, "runs/run_list.html", {"list": page, ...})

File and page come from the same rows. A cell that a spreadsheet would take for a formula is made plain text.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django_filters import FilterSet
from django_tables2 import RequestConfig, Table
from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from plant.people.queries import works_zone

ROWS = 50
FILES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


class HouseTable(Table):
    """A table of the house. ``caption`` says what it holds, ``nothing`` why it may hold nothing."""

    caption = ""
    nothing = ""


@dataclass(frozen=True)
class ListPage:
    """One page of a list: its table, its filter, how many rows were found, and the file where one was asked for."""

    table: HouseTable
    filtered: FilterSet | None
    count: int
    file: HttpResponse | None

    @property
    def is_filtered(self) -> bool:
        """Whether some rows are left out."""
        return bool(self.filtered and self.filtered.form.is_valid() and any(self.filtered.form.cleaned_data.values()))


def list_page(request: HttpRequest, table: HouseTable, *, name: str, filtered: FilterSet | None = None) -> ListPage:
    """The page of a list as its address asks: ``sort``, ``page``, and ``form`` for a file of all rows."""
    form = request.GET.get("form", "")
    RequestConfig(request, paginate=False if form in FILES else {"per_page": ROWS, "silent": True}).configure(table)
    file = as_file(table.as_values(), form, name) if form in FILES else None
    return ListPage(table, filtered, len(table.rows), file)


def as_file(rows: Iterable[Iterable[Any]], form: str, name: str) -> HttpResponse:
    """Rows, the heads first, as a file; times as ISO 8601 with the works' offset, numbers as numbers."""
    plain = ([plain_cell(value) for value in row] for row in rows)
    response = HttpResponse(_as_xlsx(plain) if form == "xlsx" else _as_csv(plain), content_type=FILES[form])
    response["Content-Disposition"] = f'attachment; filename="{name}.{form}"'
    response["Cache-Control"] = "private, no-store"
    return response


def plain_cell(value: Any) -> Any:
    """A value of a file's cell: a number stays one, a time is written out, text is never a formula.

    Examples
    --------
    >>> plain_cell("=1+1"), plain_cell(-3), plain_cell("-3"), plain_cell(None)
    ("'=1+1", -3, "'-3", '')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float | Decimal):
        return value
    if isinstance(value, datetime):
        return value.astimezone(works_zone()).isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    text = ILLEGAL_CHARACTERS_RE.sub("\N{REPLACEMENT CHARACTER}", str(value))  # a workbook can't hold them
    return f"'{text}" if text.startswith(_FORMULA) else text


def _as_csv(rows: Iterator[list[Any]]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def _as_xlsx(rows: Iterator[list[Any]]) -> bytes:
    book, out = Workbook(write_only=True), io.BytesIO()
    sheet = book.create_sheet()
    for row in rows:
        sheet.append(row)
    book.save(out)
    return out.getvalue()
