"""Amounts and readings as whole numbers of a step."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plant.quantities import (
    LARGEST,
    UNITS,
    kind_of_unit,
    print_decimal,
    print_share,
    print_steps,
    read_decimal,
    read_quantity,
    steps_of,
)
from records.ledger.refusals import Refused

# Nominal, tolerance, reading: sums that binary floating point gets wrong (Django ticket 29823 tells of the kind).
ON_THE_LIMIT = [("34.9", "0.05", "34.95"), ("9.7", "0.1", "9.8"), ("0.7", "0.1", "0.8"), ("120.3", "0.1", "120.4")]
# Units of which a step is no finite decimal part.
SIXTIES = {"min", "h", "d"}
EXACT = sorted((kind, unit) for kind, units in UNITS.items() for unit in units if unit not in SIXTIES)


def mm(text: str) -> int:
    return steps_of(text, "mm", "length")


@pytest.mark.parametrize(("nominal", "tolerance", "reading"), ON_THE_LIMIT)
def test_a_reading_on_the_limit_is_on_the_limit(nominal, tolerance, reading):
    assert float(nominal) + float(tolerance) < float(reading)
    assert mm(nominal) + mm(tolerance) == mm(reading)


@pytest.mark.parametrize(("nominal", "tolerance", "reading"), ON_THE_LIMIT)
def test_a_thousandth_of_a_millimetre_to_either_side_tells(nominal, tolerance, reading):
    limit = mm(nominal) + mm(tolerance)
    assert mm(reading) - mm("0.001") < limit < mm(reading) + mm("0.001")


@pytest.mark.parametrize(
    ("text", "unit", "kind", "steps"),
    [
        ("34,95", "mm", "length", 34_950_000),
        ("34.95", "mm", "length", 34_950_000),
        ("0.18", "kg", "mass", 180_000_000),
        ("300", "g", "mass", 300_000_000),
        ("0.30", "kg", "mass", 300_000_000),
        ("1,5", "min", "time", 90_000),
        ("0", "°C", "temperature", 273_150),
        ("120.5", "degC", "temperature", 393_650),
        ("300", "K", "temperature", 300_000),
        ("−40", "°C", "temperature", 233_150),
        ("980", "mbar", "pressure_abs", 98_000),
        ("-0.95", "bar", "pressure_gauge", -95_000),
        ("90", "°", "angle", 90_000_000),
        ("12", "pcs", "count", 12),
        ("12", "pc", "count", 12),
        ("50", "%", "ratio", 500_000_000),
        ("30", "phr", "ratio", 300_000_000),
        (",5", "mm", "length", 500_000),
        ("5.", "mm", "length", 5_000_000),
    ],
)
def test_written_digits_become_whole_steps(text, unit, kind, steps):
    assert steps_of(text, unit, kind) == steps


def test_a_difference_of_temperatures_is_not_shifted():
    assert steps_of("0.5", "°C", "temperature", difference=True) == 500
    assert print_steps(500, "°C", "temperature", difference=True) == "0.5"


@pytest.mark.parametrize(
    ("text", "unit", "kind", "code"),
    [
        ("0.0000001", "mm", "length", "too-fine"),
        ("-273.151", "degC", "temperature", "too-low"),
        ("1.5", "pcs", "count", "too-fine"),
        ("34.9500000000000000000000000000000000001", "mm", "length", "too-fine"),
        ("5", "kg", "length", "wrong-kind"),
        ("5", "mm", "pressure_abs", "wrong-kind"),
        ("5", "furlong", "length", "wrong-kind"),
        ("9007199.254740992", "m", "length", "too-large"),
        ("9100", "t", "mass", "too-large"),
        ("", "mm", "length", "not-a-number"),
        ("1.234,5", "mm", "length", "not-a-number"),
        ("1e3", "mm", "length", "not-a-number"),
        ("nan", "mm", "length", "not-a-number"),
        ("12 5", "mm", "length", "not-a-number"),
        ("-", "mm", "length", "not-a-number"),
        (".", "mm", "length", "not-a-number"),
    ],
)
def test_what_can_not_be_kept_as_written_is_refused(text, unit, kind, code):
    with pytest.raises(Refused) as refused:
        steps_of(text, unit, kind)
    assert refused.value.code == code
    assert text.strip() in str(refused.value) or unit in str(refused.value)


def test_the_largest_number_is_the_largest_that_a_payload_carries_exactly():
    """RFC 8785 numbers are doubles: 2^53 - 1."""
    assert LARGEST == 9_007_199_254_740_991
    assert steps_of(str(LARGEST), "nm", "length") == LARGEST


@pytest.mark.parametrize(
    ("text", "steps", "kind"),
    [
        ("0.18 kg", 180_000_000, "mass"),
        ("180g", 180_000_000, "mass"),
        (" 34,95 mm ", 34_950_000, "length"),
        ("12 pcs", 12, "count"),
        ("21.5°C", 294_650, "temperature"),
        ("980 mbar", 98_000, "pressure_abs"),
    ],
)
def test_a_quantity_is_read_from_text_with_its_unit_and_keeps_the_text(text, steps, kind):
    quantity = read_quantity(text)
    assert (quantity.steps, quantity.unit_kind, quantity.written) == (steps, kind, text.strip())


def test_the_kind_asked_for_decides_between_pressures():
    assert read_quantity("1 bar", "pressure_gauge").unit_kind == "pressure_gauge"


@pytest.mark.parametrize(
    ("text", "code"),
    [("180", "not-a-number"), ("g", "not-a-number"), ("1.2.3 g", "not-a-number"), ("5 lb", "wrong-kind")],
)
def test_a_text_that_is_no_quantity_is_refused(text, code):
    with pytest.raises(Refused) as refused:
        read_quantity(text)
    assert refused.value.code == code


def test_a_quantity_of_another_kind_is_refused():
    with pytest.raises(Refused) as refused:
        read_quantity("5 mm", "mass")
    assert (refused.value.code, str(refused.value)) == (
        "wrong-kind",
        "mm is no unit of mass. Write it in g, kg, mg, ug, t.",
    )


@pytest.mark.parametrize("unit", ["mm", "kg", "s", "°C", "°", "pcs", "%", "mbar"])
def test_the_kind_of_a_unit_is_the_one_whose_unit_it_is(unit):
    assert unit in UNITS[kind_of_unit(unit)]


def test_a_unit_that_stands_under_two_kinds_is_a_pressure():
    """So that a unit alone names its kind."""
    kinds: dict[str, list[str]] = {}
    for kind, units in UNITS.items():
        for unit in units:
            kinds.setdefault(unit, []).append(kind)
    assert {unit for unit, found in kinds.items() if len(found) > 1} == set(UNITS["pressure_abs"])


@pytest.mark.parametrize(
    ("value", "text"),
    [("11999.9990", "11999.999"), ("0", "0"), ("-50", "-50"), ("100", "100"), ("1E+3", "1000"), ("0.000", "0")],
)
def test_numbers_are_printed_without_exponent_or_idle_zeros(value, text):
    assert print_decimal(Decimal(value)) == text


@pytest.mark.parametrize(("ppb", "text"), [(90_909_091, "0.090909091"), (10**9, "1"), (0, "0"), (500_000_000, "0.5")])
def test_shares_are_printed_as_parts_of_one(ppb, text):
    assert print_share(ppb) == text


@given(st.sampled_from(EXACT), st.integers(-(2**52), 2**52))
def test_what_is_printed_is_read_as_the_same_steps(kind_and_unit, steps):
    kind, unit = kind_and_unit
    if kind == "temperature" and unit != "K":  # kept in kelvin, of which none is below nothing
        steps = abs(steps)
    assert steps_of(print_steps(steps, unit, kind), unit, kind) == steps


@given(st.integers(-(10**15), 10**15), st.integers(0, 6), st.sampled_from(".,"), st.sampled_from(["", " ", "\n"]))
def test_what_is_read_is_what_was_written(digits, places, mark, blank):
    text = str(Decimal(digits).scaleb(-places)) if places else str(digits)
    if "E" in text:
        text = format(Decimal(text), "f")
    written = blank + text.replace(".", mark) + blank
    assert read_decimal(written) == Decimal(text)
    if abs(digits) <= 10**9:
        assert Decimal(mm(written)) == Decimal(text) * 10**6


@given(st.integers(0, 10**9), st.integers(0, 10**9))
def test_sums_of_steps_are_the_sums_of_what_was_written(a, b):
    one, other = (print_steps(steps, "mm", "length") for steps in (a, b))
    assert mm(print_decimal(Decimal(one) + Decimal(other))) == mm(one) + mm(other)
