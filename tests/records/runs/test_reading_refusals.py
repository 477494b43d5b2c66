"""Files that are no recorder files: each is refused in one plain sentence, never half read."""

import io
import random

import pytest
from openpyxl import Workbook

from records.runs.reading import NotALog, read_log
from tests.records.runs.files import LOGS, kinds_of

PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 4
BINARY = bytes((n * 7919 + n * n) % 256 for n in range(5000))
NO_LOGS = {
    "empty": b"",
    "blank": b"\r\n \r\n",
    "nothing but NUL bytes": b"\0" * 512,
    "binary": BINARY,
    "picture": PNG,
    "pdf": b"%PDF-1.4\n1 0 obj\nstream 12 13 14\n",
    "zip": b"PK\x03\x04" + b"\0" * 60 + b"readme.txt",
    "workbook cut off": b"PK\x03\x04[Content_Types].xml" + b"\0" * 200,
    "web page": b"<html><body>12,13</body></html>",
    "json": b'{"a": [1, 2, 3], "b": 12.5}',
    "words": b"name,colour\nred,blue\ngreen,white\nyellow,black\n",
    "prose": b"This is a letter.\nIt has no readings, at all.\nThree of us wrote it.\n",
    "one column": b"12.1\n12.2\n12.3\n12.4\n",
    "heading only": b"Time,T1,T2\n",
    "cut off to nothing": b"Time,T1,T2\n2026-11-24 09:0",
}


@pytest.mark.parametrize("raw", NO_LOGS.values(), ids=NO_LOGS)
def test_a_file_that_is_no_log_is_refused_in_one_sentence(raw):
    with pytest.raises(NotALog) as refused:
        read_log(raw, name="press1.csv")
    words = str(refused.value)
    assert "press1.csv" in words
    assert words.endswith(".")
    assert "\n" not in words


def test_the_kind_of_the_wrong_file_is_named():
    with pytest.raises(NotALog, match="is a PNG picture, no recorder file; export the readings"):
        read_log(PNG, name="photo.csv")


def workbook(*rows, mac=False):
    book = Workbook()
    if mac:
        from openpyxl.utils.datetime import CALENDAR_MAC_1904

        book.epoch = CALENDAR_MAC_1904
    for row in rows:
        book.active.append(row)
    stored = io.BytesIO()
    book.save(stored)
    return stored.getvalue()


def test_a_formula_that_was_never_worked_out_is_named_and_is_neither_blank_nor_zero():
    raw = workbook(["t_s", "T1 (C)"], [0, 20.5], [1, "=B2+0.05"], [2, 20.6], [3, 20.7])
    log = read_log(raw, name="book.xlsx")
    assert (log.channels[0].n, log.channels[0].missing) == (3, 1)
    assert log.problems[0].words.startswith("B3 holds a formula without a value")
    assert kinds_of(log) == [(None, "not-a-number")]


@pytest.mark.parametrize("mac", [False, True], ids=["1900", "1904"])
def test_dates_follow_the_base_that_the_workbook_states(mac):
    from datetime import datetime

    rows = [[datetime(2026, 11, 24, 9, minute), 20.0 + minute] for minute in range(5)]
    log = read_log(workbook(["Time", "T1 (C)"], *rows, mac=mac), name="book.xlsx")
    assert (log.first, log.last) == ("2026-11-24T09:00:00", "2026-11-24T09:04:00")


def test_stored_times_a_hair_below_the_minute_are_rounded():
    """The file holds dates and the same dates as text, so it is no log; its dates are right all the same."""
    from records.runs.reading.workbook import table_of_workbook

    table = table_of_workbook((LOGS / "m06_date_rounding.xlsx").read_bytes(), "m06")
    assert [row.fields[0] for row in table.rows[1:]] == [row.fields[1] for row in table.rows[1:]]


def test_a_list_of_dates_without_readings_is_refused():
    with pytest.raises(NotALog, match="no column of readings"):
        read_log((LOGS / "m06_date_rounding.xlsx").read_bytes(), name="m06")


@pytest.mark.parametrize("name", ["s12_vacuum_oven_semicolon.csv", "s13_autumn_clock_change_utf16.txt",
                                  "s16_power_loss_nul_bytes.csv", "r08_two_thermocouples.xlsx"])  # fmt: skip
def test_a_file_cut_anywhere_is_refused_or_read_with_its_rows_in_balance(name):
    raw = (LOGS / name).read_bytes()
    for length in range(0, len(raw), len(raw) // 25):
        try:
            log = read_log(raw[:length], name=name)
        except NotALog:
            continue
        assert {c.n + c.missing for c in log.channels} == {log.rows - log.rows_set_aside}


@pytest.mark.parametrize("seed", range(20))
def test_damaged_bytes_are_refused_or_read_but_never_a_fault_of_the_program(seed):
    made = random.Random(seed)
    for name in ("r07_semicolon_cut_off.csv", "s14_units_change_header_repeats.csv", "r08_two_thermocouples.xlsx"):
        raw = bytearray((LOGS / name).read_bytes())
        for _ in range(made.randint(1, 40)):
            raw[made.randrange(len(raw))] = made.randrange(256)
        try:
            log = read_log(bytes(raw), name=name)
        except NotALog:
            continue
        assert {c.n + c.missing for c in log.channels} == {log.rows - log.rows_set_aside}
