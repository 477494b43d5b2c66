"""Lists taken along: no cell is a formula, numbers stay numbers, times are written out; pages by the address."""

import csv
import io
from datetime import UTC, date, datetime
from decimal import Decimal

import django_tables2 as tables
import pytest
from django.test import RequestFactory
from openpyxl import load_workbook

from plant.lists import ROWS, HouseTable, list_page
from tests import builders

pytestmark = pytest.mark.django_db
NASTY = ["=1+1", "+1", "-1", "@sum(a1)", "\t=1", "\r=1"]


class Few(HouseTable):
    word = tables.Column()
    count = tables.Column()
    at = tables.Column()


@pytest.fixture(autouse=True)
def works():
    builders.a_works()


def page(rows, **asked):
    return list_page(RequestFactory().get("/", asked), Few(rows), name="few")


def rows(words):
    return [{"word": word, "count": -n, "at": datetime(2026, 7, 1, 8, tzinfo=UTC)} for n, word in enumerate(words)]


def test_no_cell_of_a_csv_file_is_taken_for_a_formula():
    told = list(csv.reader(io.StringIO(page(rows(NASTY), form="csv").file.content.decode(), newline="")))
    assert [line[0] for line in told[1:]] == [f"'{word}" for word in NASTY]
    assert told[1][2] == "2026-07-01T09:00:00+01:00"


def test_no_cell_of_a_workbook_is_a_formula_and_numbers_stay_numbers():
    book = load_workbook(io.BytesIO(page(rows(NASTY), form="xlsx").file.content))
    lines = [list(line) for line in book.active.rows][1:]
    assert all(line[0].data_type == "s" and line[0].value.startswith("'") for line in lines)
    assert [line[1].value for line in lines] == [-n for n in range(len(NASTY))]


def test_a_page_holds_so_many_rows_and_a_file_all_of_them():
    many = rows([f"row {n:03d}" for n in range(ROWS + 7)])
    second = page(many, page="2", sort="word")
    assert [row.record["word"] for row in second.table.paginated_rows] == [
        f"row {n:03d}" for n in range(ROWS, ROWS + 7)
    ]
    assert second.count == ROWS + 7
    assert len(page(many, form="csv", page="2").file.content.decode().splitlines()) == ROWS + 8
    assert page(many, page="99").table.page.number == 2


def test_a_day_a_truth_and_nothing_are_written_plainly():
    told = page([{"word": date(2026, 3, 1), "count": True, "at": None}], form="csv").file.content.decode()
    assert told.splitlines()[1] == "2026-03-01,yes,"


def test_a_sign_that_a_workbook_cannot_hold_does_not_lose_the_file():
    odd = [{"word": "a\x0bb", "count": Decimal("-1.5"), "at": None}]
    book = load_workbook(io.BytesIO(page(odd, form="xlsx").file.content))
    line = [cell.value for cell in list(book.active.rows)[1]]
    assert line[:2] == ["a\N{REPLACEMENT CHARACTER}b", -1.5]
