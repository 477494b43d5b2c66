"""Files of our own making, each with one trick of some recorder or spreadsheet; right.json says what they hold."""

import io
import json
import zipfile

import pytest
from openpyxl import Workbook

from records.runs.reading import NotALog, facts_of, read_log
from tests.records.runs.files import LOGS, kinds_of, stamps, text_log

NASTY = LOGS.parent / "nasty"
RIGHT = json.loads((NASTY / "right.json").read_text())


@pytest.mark.parametrize("name", RIGHT)
def test_a_nasty_file_is_read_right(name):
    right = RIGHT[name]
    facts = facts_of(read_log((NASTY / name).read_bytes(), name=name))
    keys = ("name", "unit", "n", "missing", "min", "max")
    found = {
        **facts,
        "channels": [[channel[key] for key in keys] for channel in facts["channels"]],
        "problems": [[problem["line"], problem["kind"]] for problem in facts["problems"]],
    }
    assert {key: found[key] for key in right} == right
    assert json.dumps(facts, allow_nan=False)


def test_every_nasty_file_has_its_right_answer():
    assert {path.name for path in NASTY.iterdir()} == {*RIGHT, "right.json"}


def an_archive(*parts):
    stored = io.BytesIO()
    with zipfile.ZipFile(stored, "w") as archive:
        for part in parts:
            archive.writestr(part, "<x/>")
    return stored.getvalue()


def a_far_cell():
    book, stored = Workbook(), io.BytesIO()
    book.active["ZZZ9"] = 1
    book.save(stored)
    return stored.getvalue()


REFUSED = {
    "a text document": (an_archive("[Content_Types].xml", "word/document.xml"), "is a text document"),
    "an open document": (an_archive("mimetype", "content.xml"), "is an OpenDocument file"),
    "a workbook of no parts": (an_archive("[Content_Types].xml", "xl/workbook.xml"), "can't be opened"),
    "a workbook with a cell in the last column": (a_far_cell(), "has a cell in column 18278"),
    "a locked workbook": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "locked by a password"),
    "one line without an end": (b"1," * 150_000, "line 1 has 300,000 signs"),
    "a web page after a blank line": (b"\r\n <!doctype html><p>12,13", "is a web page"),
    "a table of a web page": (b"<table><tr><td>12,5</td></tr></table>", "is a web page"),
    "years that no calendar carries": (b"Time,T1\n0001-01-01 00:00:00,1\n0001-01-01 00:01:00,2\n", "readable time"),
}


@pytest.mark.parametrize(("raw", "words"), REFUSED.values(), ids=REFUSED)
def test_what_is_no_recorder_file_is_named(raw, words):
    with pytest.raises(NotALog, match=words) as refused:
        read_log(raw, name="press1.csv", zone="Europe/Berlin")
    assert str(refused.value).endswith(".")


def test_two_digits_that_may_be_day_or_year_are_asked_about():
    text = "Date,T1\n" + "".join(f"24/11/26 09:0{n}:00,{n}.5\n" for n in range(5))
    assert kinds_of(text_log(text)) == [(None, "day-or-month")]
    assert text_log(text, dates="day-first").first == "2026-11-24T09:00:00"


def test_a_row_with_twice_its_fields_and_one_stamp_is_too_long_and_no_two_rows():
    rows = [f"{stamp},1,2" for stamp in stamps(6)]
    rows[2] += ",3,4"
    assert kinds_of(text_log("\n".join(["Time,T1,T2", *rows, ""])))[0] == (4, "long-row")


def test_a_second_column_of_times_is_told():
    rows = zip(stamps(4), stamps(4, hour=10), strict=True)
    log = text_log("Server time,Device time,T1\n" + "".join(f"{a},{b},1.5\n" for a, b in rows))
    assert log.first == "2026-11-24T09:00:00"
    assert log.notes == ("The rows are placed by Server time; Device time says other times.",)


@pytest.mark.parametrize("zone", ["europe/berlin", " Europe/Berlin "])
def test_case_and_blanks_of_a_zone_do_not_count(zone):
    assert text_log("Time,T1\n2026-11-24 09:00:00,1\n", zone=zone).zone == "Europe/Berlin"


def test_a_fixed_offset_is_a_zone():
    log = text_log("Time,T1\n2026-11-24 09:00:00,1\n", zone="-08:00")
    assert log.first == "2026-11-24T09:00:00-08:00"


@pytest.mark.parametrize("zone", ["localtime", "../../etc/passwd", "a\0b", "Europe", "+99:99", "x" * 5000])
def test_a_zone_that_is_a_path_or_the_machines_own_is_refused_and_shown_short(zone):
    with pytest.raises(NotALog, match="There is no zone") as refused:
        text_log("Time,T1\n2026-11-24 09:00:00,1\n", zone=zone)
    assert str(refused.value).isprintable()
    assert len(str(refused.value)) < 150


def test_an_offset_in_the_preamble_that_no_zone_has_says_nothing():
    assert text_log("Zone: UTC+25\nTime,T1\n2026-11-24 09:00:00,1\n2026-11-24 09:01:00,1\n").zone is None
