"""Lists that people work through: sorted and paged by the address, filtered by a form, taken along as CSV or XLSX.

    page = list_page(request, RunTable(rows), name="runs", filtered=found)
    return page.file or render(request, "runs/run_list.html", {"list": page, ...})

File and page come from the same rows. Rows asked of the database are narrowed by a ``FilterSet``, rows made from
several tables by a ``RowFilter``. A cell that a spreadsheet would take for a formula is made plain text.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, TypeVar

from django import forms
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.template.loader import render_to_string
from django_filters import DateFilter, FilterSet
from django_tables2 import Column, RequestConfig, Table
from django_tables2.columns import BoundColumn
from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from plant.people.acting import speak_plainly
from plant.people.queries import works_day, works_zone

Row = TypeVar("Row")
ROWS = 50
# So many rows stand on one page where all are asked for, to be printed; more come as a file. A choice of this project.
MOST_ROWS = 1000
FILES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
# What begins a formula, full-width forms too, after blanks and unseen signs that a spreadsheet may drop; a tab or a
# line end at the head is taken for one by itself. Signs: OWASP, "CSV Injection", from memory.
_UNSEEN = r"[\s\x00-\x1f\x7f-\xa0\xad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180e\u200b-\u200f\u2028-\u202f" + (
    r"\u2060-\u206f\u3164\ufe00-\ufe0f\ufeff\ufff9-\ufffd]"
)
_FORMULA = re.compile(rf"[\t\r\n]|{_UNSEEN}*[=+\-@\uff1d\uff0b\uff0d\uff20]")


class HouseTable(Table):
    """A table of the house. ``caption`` says what it holds, ``nothing`` why it may hold nothing.

    ``cells`` is the template that draws a cell which is more than its text; a ``roomy`` one holds sentences, and keeps
    more width for them on a narrow screen.
    """

    caption = ""
    nothing = ""
    cells = ""
    roomy = False

    @property
    def may_stand_whole(self) -> bool:
        """Whether a list of several pages is short enough for one."""
        return ROWS < self.paginator.count <= MOST_ROWS and self.paginator.per_page == ROWS

    @property
    def stands_whole(self) -> bool:
        """Whether more rows stand on this page than a page has."""
        return len(self.page) > ROWS

    def drawn(self, cell: str, row: Any) -> str:
        """A cell as its template draws it for whoever reads the page."""
        user = getattr(getattr(self, "request", None), "user", None)
        return render_to_string(self.cells, {"cell": cell, "row": row, "user": user})


class Drawn(Column):
    """A column whose cell the table's template draws; files carry the bare value."""

    def render(self, record: Any, table: HouseTable, bound_column: BoundColumn) -> str:
        return table.drawn(bound_column.name, record)

    def value(self, value: Any) -> Any:
        return value


class RowFilter(forms.Form):
    """What rows that are already made are narrowed by; ``fits`` answers for one row."""

    def __init__(self, asked: QueryDict) -> None:
        super().__init__(asked, auto_id="narrow-%s")
        for field in self.fields.values():
            field.required = False
            speak_plainly(field)

    def fits(self, row: Any, asked: dict[str, Any]) -> bool:
        """Whether a row stays; ``asked`` holds a value for each field, an empty one where nothing was asked."""
        raise NotImplementedError

    def kept(self, rows: Iterable[Row]) -> list[Row]:
        """Rows that fit; what can't be read narrows nothing and is told at its field."""
        asked = {name: _asked(self).get(name) for name in self.fields}
        return [row for row in rows if self.fits(row, asked)]


@dataclass(frozen=True)
class ListPage:
    """One page of a list: its table, the form that narrows it, how many of how many rows, and a file if asked for."""

    table: HouseTable
    form: forms.Form | None
    count: int
    total: int
    file: HttpResponse | None

    @property
    def is_filtered(self) -> bool:
        """Whether the list was asked to leave some rows out."""
        return bool(self.narrowed)

    @property
    def narrowed(self) -> list[tuple[str, str]]:
        """What the list is narrowed by, in words: a paper copy has no form to read it from."""
        form = self.form
        told = _asked(form).items() if form else ()
        return [(str(form[name].label), _words(form[name], value)) for name, value in told if form and value]


def list_page(
    request: HttpRequest,
    table: HouseTable,
    *,
    name: str,
    filtered: FilterSet | RowFilter | None = None,
    total: int | None = None,
) -> ListPage:
    """The page of a list as its address asks: ``sort``, ``page``, all on one by ``rows=all``, a file by ``form``.

    ``total`` is how many rows there are with nothing left out; a ``FilterSet`` is asked for it where it is not told.
    """
    form = request.GET.get("form", "")
    RequestConfig(request, paginate=False).configure(table)
    if form not in FILES:
        table.paginate(per_page=MOST_ROWS if request.GET.get("rows") == "all" else ROWS)
        table.page = table.paginator.get_page(request.GET.get("page"))
    file = as_file(table.as_values(), form, name) if form in FILES else None
    asks = filtered.form if isinstance(filtered, FilterSet) else filtered
    count = len(table.rows)
    page = ListPage(table, asks, count, count if total is None else total, file)
    if page.is_filtered:
        if total is None and isinstance(filtered, FilterSet):
            page = replace(page, total=filtered.queryset.count())
        table.nothing = f"Nothing is on file that fits what was asked; {page.total} stand here in all."
    return page


class DayFilter(DateFilter):
    """From a day on (``gte``) or up to one (``lte``), that day included, by the works' calendar."""

    def __init__(self, column: str, lookup: str, **rest: Any) -> None:
        super().__init__(column, lookup, widget=forms.DateInput({"type": "date"}), **rest)

    def filter(self, qs: QuerySet[Any], value: date | None) -> QuerySet[Any]:
        if value is None:
            return qs
        first = datetime.combine(value, time(), works_zone())
        if self.lookup_expr == "gte":
            return qs.filter(**{f"{self.field_name}__gte": first})
        return qs.filter(
            **{f"{self.field_name}__lt": datetime.combine(value + timedelta(days=1), time(), works_zone())}
        )


def begins(code: str, asked: str | None) -> bool:
    """Whether a code begins with what was typed, in any case."""
    return code.casefold().startswith((asked or "").strip().casefold())


def is_within(moment: datetime, since: date | None, until: date | None) -> bool:
    """Whether a moment lies on the days asked for, both included, by the works' calendar."""
    day = works_day(moment) if since or until else None
    return day is None or not ((since and day < since) or (until and day > until))


def _asked(form: forms.Form) -> dict[str, Any]:
    """What a form asks for, as far as it could be read."""
    form.errors  # noqa: B018  # reading them reads the form
    return form.cleaned_data


def _words(field: forms.BoundField, value: Any) -> str:
    """What was chosen or typed, as its field shows it."""
    choices = dict(getattr(field.field, "choices", ()) or ()) if isinstance(value, str) else {}
    return str(choices.get(value, value))


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
    >>> plain_cell("=1+1"), plain_cell(-3), plain_cell(" -3"), plain_cell(None)
    ("'=1+1", -3, "' -3", '')
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
    return f"'{text}" if _FORMULA.match(text) else text


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
