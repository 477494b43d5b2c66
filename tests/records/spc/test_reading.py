"""Tables of readings out of text files, kind ones and nasty ones."""

import pytest

from records.ledger.refusals import Refused
from records.spc.reading import read_table
from tests.records.spc.published import MEASUREMENTS, measured


def table(text, encoding="utf-8"):
    """The table of a file with this text."""
    return read_table(text.encode(encoding), "widths.csv")


def column(text, number=0):
    """Readings of a column, as text, None where there is none."""
    return [None if n is None else str(n) for n in table(text).columns[number].numbers]


@pytest.mark.parametrize(
    ("name", "columns", "values"),
    [
        ("m01_gear_diameter.dat", ["DIAMETER", "BATCH"], "value"),
        ("m02_wafer_thickness.dat", ["THICKNESS", "DAY"], "value"),
        ("m05_integer_colour.csv", ["Colour"], "Colour"),
    ],
)
def test_published_data_files_are_read_as_their_index_says(name, columns, values):
    told = measured(name)
    found = read_table((MEASUREMENTS / name).read_bytes(), name)
    numbers = found.columns[0].numbers
    channel = told["channels"][values]
    assert [c.name for c in found.columns] == columns
    assert (len(numbers), numbers.count(None)) == (channel["n"], channel["missing"])
    assert (float(min(numbers)), float(max(numbers))) == (channel["min"], channel["max"])
    assert found.problems == ()
    if "header_line" in told:
        assert (found.header_line, found.lines[0]) == (told["header_line"], told["data_from_line"])
        assert (found.delimiter, found.decimal) == (told["delimiter"], ".")


def test_sixty_lines_of_text_and_a_rule_come_before_the_readings():
    """NIST Statistical Reference Datasets, NumAcc4: data from line 61 to 1061."""
    name = "m03_large_offset_small_spread.dat"
    found = read_table((MEASUREMENTS / name).read_bytes(), name)
    assert (found.lines[0], found.lines[-1], len(found.lines)) == (61, 1061, measured(name)["rows"])


@pytest.mark.parametrize(
    ("text", "delimiter", "decimal"),
    [
        ("n,width\n1,34.91\n2,34.89\n", ",", "."),
        ("n;width\n1;34,91\n2;34,89\n", ";", ","),
        ("n;width\n1;34.91\n2;34.89\n", ";", "."),
        ("n\twidth\n1\t34,91\n2\t34,89\n", "tab", ","),
        ("n|width\n1|34.91\n2|34.89\n", "|", "."),
        ("n  width\n1  34.91\n2  34.89\n", "spaces", "."),
        ("\ufeffn;width\r\n1;34,91\r\n2;34,89\r\n", ";", ","),
    ],
)
def test_separator_and_decimal_mark_are_found_by_looking(text, delimiter, decimal):
    found = table(text)
    assert (found.delimiter, found.decimal, found.header_line) == (delimiter, decimal, 1)
    assert column(text, 1) == ["34.91", "34.89"]


def test_under_one_heading_a_comma_is_a_decimal_mark():
    assert column("width\n34,91\n34,89\n34,90\n") == ["34.91", "34.89", "34.90"]


def test_a_file_in_utf_16_reads_the_same():
    found = read_table("n;width\n1;34,91\n2;34,89\n".encode("utf-16"), "widths.csv")
    assert [str(n) for n in found.columns[1].numbers] == ["34.91", "34.89"]


@pytest.mark.parametrize(
    ("heading", "name", "unit"),
    [
        ("shell width [mm]", "shell width", "mm"),
        ("shell width (mm)", "shell width", "mm"),
        ("depth (µm)", "depth", "um"),
        ("shelf [°C]", "shelf", "degC"),
        ("width (inside)", "width (inside)", None),
        ("width_mm", "width_mm", None),
    ],
)
def test_a_unit_in_brackets_is_taken_off_the_heading(heading, name, unit):
    (found,) = table(f"{heading}\n34.91\n34.89\n").columns
    assert (found.heading, found.name, found.unit) == (heading, name, unit)


def test_a_row_of_units_below_the_headings_is_no_reading():
    found = table("serial;width\n;mm\nA1;34,9\nA2;34,8\n")
    assert (found.header_line, found.lines, found.columns[1].unit) == (1, (3, 4), "mm")


def test_text_on_top_is_no_heading():
    found = table("Report of May\nTarnside Works, bench 2\n\nserial,width\nA1,34.9\nA2,34.8\n")
    assert (found.header_line, [c.name for c in found.columns]) == (4, ["serial", "width"])


def test_a_file_without_heading_has_numbered_columns():
    found = table("34.91 1.0\n34.89 1.1\n")
    assert ([c.name for c in found.columns], found.header_line) == (["column 1", "column 2"], None)


def test_numbers_may_be_headings():
    found = table("subgroup,1,2\nA,3.4,4.1\nB,3.5,4.0\n")
    assert [c.name for c in found.columns] == ["subgroup", "1", "2"]


def test_serials_keep_their_zeros_and_letters():
    found = table("serial,width\n000417,3.4\n12E4,3.5\n1E1000,3.6\nNA,3.7\n")
    assert found.columns[0].cells == ("000417", "12E4", "1E1000", "NA")
    assert not found.columns[0].is_numeric


def test_a_row_with_a_field_too_few_is_set_aside_and_keeps_its_place():
    """Which of its values is missing can't be known; the row must not slide to the left."""
    found = table("t,a,b\n1,23.4,22.9\n2,22.9\n3,23.1,22.8\n")
    assert [(p.line, p.kind) for p in found.problems] == [(3, "short-row")]
    assert "2 fields where 3 are due" in found.problems[0].words
    assert found.columns[1].numbers[1] is None


def test_a_row_with_a_field_too_many_is_set_aside_too():
    found = table("t,a\n1,23.4\n2,22.9,7\n3,23.1\n")
    assert [(p.line, p.kind) for p in found.problems] == [(3, "long-row")]


def test_idle_separators_at_the_end_of_a_row_are_no_fields():
    assert table("t,a\n1,23.4,\n2,22.9,\n3,23.1\n").problems == ()


def test_a_first_reading_that_cannot_be_read_is_no_heading():
    assert column("width\n1O.2\n10.1\n10.3\n") == [None, "10.1", "10.3"]
    assert column("serial;width\nA1;broken\nA2;34,9\nA3;34,8\n", 1) == [None, "34.9", "34.8"]


def test_an_empty_line_in_one_column_is_a_missing_reading():
    assert column("width\n10.1\n\n10.3\n10.2\n10.4\n\n") == ["10.1", None, "10.3", "10.2", "10.4"]


def test_lines_set_wide_all_through_miss_nothing():
    assert column("width\n\n10.1\n\n10.3\n\n10.2\n") == ["10.1", "10.3", "10.2"]


def test_a_heading_that_comes_again_is_no_reading():
    assert column("n,width\n1,10.1\n2,10.2\nn,width\n3,10.3\n", 1) == ["10.1", "10.2", "10.3"]


def test_commas_in_quotes_part_nothing():
    found = table('serial,note,width\nA1,"good, but scratched",34.9\nA2,,34.8\n')
    assert found.columns[1].cells == ("good, but scratched", "")


def test_a_stray_quote_swallows_no_line():
    assert len(table('serial,width\n"A1,34.9\nA2,34.8\nA3,34.7\n').lines) == 3


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "is empty"),
        (b"\r\n\r\n  \n", "is empty"),
        (bytes(range(256)) * 8, "is no text file"),
        (b"PK\x03\x04 and so on", "is no text file"),
        (b"PK\x03\x04 xl/worksheets", "is no text file"),
        (b"%PDF-1.7 and so on", "is no text file"),
        (b"all of this\nis words\n", "has no column of numbers"),
        (b"serial,lot\n000417,12E4\n000418,12E4\n", "has no column of numbers"),
        (b"-----\n=====\n", "has no column of numbers"),
    ],
)
def test_what_is_no_table_of_readings_is_refused_by_name(raw, words):
    with pytest.raises(Refused, match=words) as refused:
        read_table(raw, "widths.csv")
    assert (refused.value.code, str(refused.value).startswith("widths.csv ")) == ("not-understood", True)
