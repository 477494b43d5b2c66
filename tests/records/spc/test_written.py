"""Which text is a number, and how fine a column of numbers was written."""

from decimal import Decimal

import pytest

from records.spc.written import looks_torn, read_number, step_of


@pytest.mark.parametrize(
    "text", ["000417", "12E4", "1E1000", "22E1", "007", "00.50", "0x1F", "1_000", "nan", "inf", "", "-", "٣"]
)
def test_serials_and_words_are_no_numbers(text):
    """A default read gives 417, 120000 and infinity for the first three."""
    assert read_number(text, ".") is None
    assert read_number(text, ",") is None


@pytest.mark.parametrize(
    ("text", "mark", "number"),
    [
        (" 34.95 ", ".", "34.95"),
        ("34,95", ",", "34.95"),
        ("-0.079", ".", "-0.079"),
        ("−5", ".", "-5"),
        ("+5", ".", "5"),
        (".5", ".", "0.5"),
        ("1.2E-3", ".", "0.0012"),
        ("0", ".", "0"),
        ("0.50", ".", "0.50"),
    ],
)
def test_numbers_keep_their_digits(text, mark, number):
    assert read_number(text, mark) == Decimal(number)


def test_the_other_decimal_mark_is_no_number():
    assert read_number("34,95", ".") is None
    assert read_number("34.95", ",") is None


def test_an_exponent_beyond_all_measure_is_no_number():
    assert read_number("1.0E999", ".") is None


@pytest.mark.parametrize("text", ["34.9x", "<0.01", "1O.2", "34.9.1"])
def test_a_slip_of_the_pen_looks_like_a_reading(text):
    assert looks_torn(text)


@pytest.mark.parametrize("text", ["width", "2nd reading", "x1", "", "NaN"])
def test_a_heading_does_not(text):
    assert not looks_torn(text)


@pytest.mark.parametrize(
    ("texts", "step"),
    [
        (["41.0", "41.1"], "0.1"),
        (["41.000", "41.100"], "0.1"),
        (["10.00", "10.05", "10.15", "10.30"], "0.05"),
        (["10.00", "10.05", "10.15", "10.31"], "0.01"),
        (["220", "230"], "10"),
        (["24.5"], "0.1"),
        ([], "1"),
        (["0", "0"], "1"),
    ],
)
def test_the_step_is_the_finest_that_the_readings_share(texts, step):
    assert step_of(Decimal(text) for text in texts) == Decimal(step)
