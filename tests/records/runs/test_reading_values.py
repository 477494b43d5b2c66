"""Numbers, units and codes of recorder files."""

import numpy as np
import pytest

from records.runs.reading.headings import heading_of
from records.runs.reading.numbers import decimal_mark, number_of
from records.runs.reading.units import between, unit_of
from tests.records.runs.files import EXAMPLES, kinds_of, ramp_and_soak, stamps, text_log, written


@pytest.mark.parametrize(
    ("cell", "mark", "right"),
    [
        ("23,4", ",", 23.4),
        ("1,000.8", ".", 1000.8),
        ("1.002,4", ",", 1002.4),
        ("1 002,4", ",", 1002.4),
        ("−5.5", ".", -5.5),
        ("6.048E-3", ".", 0.006048),
        ("1e999", ".", None),
        ("1_000", ".", None),
        ("23.4", ",", None),
        ("12.05.2026", ".", None),
    ],
)
def test_a_number_is_read_under_the_mark_of_its_column(cell, mark, right):
    assert number_of(cell, mark) == right


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["1,000.8", "999.9"], "."),
        (["1.000,8"], ","),
        (["0,019", "12"], ","),
        (["1,234,567"], "."),
        (["12", "7"], None),
    ],
)
def test_all_cells_of_a_column_decide_its_decimal_mark(cells, mark):
    assert decimal_mark(cells) == mark


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_separator_and_the_decimal_mark_are_found_together(delimiter):
    quote = '"' if delimiter == "," else ""
    rows = [f"{at}{delimiter}{quote}{20 + n / 10:.1f}{quote}".replace(".", ",") for n, at in enumerate(stamps(30))]
    log = text_log(f"Time{delimiter}TC1 (°C)\n" + "\n".join(rows) + "\n")
    assert (log.decimal, log.channels[0].maximum) == (",", 22.9)


def test_a_comma_that_is_both_separator_and_decimal_mark_is_refused():
    rows = [f"{at},20,{n}" for n, at in enumerate(stamps(30))]
    with pytest.raises(Exception, match="separator that is not the decimal mark"):
        text_log("Time,TC1\n" + "\n".join(rows) + "\n")


@pytest.mark.parametrize(
    ("written_as", "name", "unit", "quantity"),
    [
        ("Temp, °F (LGR S/N: 10173910, SEN S/N: 10173910)", "Temp", "degF", "temperature"),
        ("Shelf1 [°C]", "Shelf1", "degC", "temperature"),
        ("#1:oC", "#1", "degC", "temperature"),
        ("tc1_C", "tc1_C", "degC", "temperature"),
        ("Bag vacuum (inHg gauge)", "Bag vacuum", "mbar", "pressure-gauge"),
        ("P [bar(a)]", "P", "bar", "pressure-absolute"),
        ("Pressure, psig", "Pressure", "mbar", "pressure-gauge"),
        ("p_abs_mbar", "p_abs_mbar", "mbar", "pressure-absolute"),
        ("Vacuum gauge 3 (mbar)", "Vacuum gauge 3", "mbar", "pressure"),
        ("Vacuum pump", "Vacuum pump", None, None),
        ("Response (Trigger)", "Response (Trigger)", None, None),
        ("Amps", "Amps", "A", "current"),
        ("Amp-hr", "Amp-hr", None, None),
        ("Baratron_1T_Voltage (V)", "Baratron_1T_Voltage", "V", "voltage"),
    ],
)
def test_the_name_is_as_written_with_its_unit_taken_off(written_as, name, unit, quantity):
    heading = heading_of(written_as)
    assert (heading.name, heading.unit.unit if heading.unit else None, heading.quantity) == (name, unit, quantity)


def test_a_unit_that_is_not_known_is_told():
    log = text_log(written("Time,Flow [furlong]", stamps(5), range(5)))
    assert kinds_of(log) == [(None, "unit-unknown")]
    assert log.channels[0].unit is None


@pytest.mark.parametrize(
    ("written_as", "example"), [("inHg", "inHg_Pa"), ("Torr", "Torr_Pa"), ("mbar", "mbar_Pa"), ("psi", "psi_Pa")]
)
def test_factors_of_pressure_are_those_of_the_tables(written_as, example):
    unit = unit_of(written_as)
    pascal = unit.factor * between(unit.unit, "Pa")[0]
    assert pascal == pytest.approx(EXAMPLES["vac-01"]["expected"][example], abs=EXAMPLES["vac-01"]["tolerance"])


def test_temperatures_are_turned_by_factor_and_offset():
    factor, offset = between("degF", "degC")
    assert [round(t * factor + offset, 9) for t in (32, 212)] == [0, 100]
    assert between("degC", "mbar") is None


@pytest.mark.parametrize(("code", "kind"), [("OL", "error-code"), ("----", "error-code"), ("hello", "not-a-number")])
def test_a_cell_that_is_no_reading_is_missing_and_told(code, kind):
    values = [20 + n / 10 for n in range(20)]
    values[7] = code
    log = text_log(written("Time,T1 (C),T2 (C)", stamps(20), values, range(20)))
    assert (log.channels[0].n, log.channels[0].missing) == (19, 1)
    assert kinds_of(log) == [(9, kind)]


@pytest.mark.parametrize("blank", ["", "NaN", "NA", "null", "-"])
def test_an_empty_cell_is_missing_without_a_fault(blank):
    values = [20 + n / 10 for n in range(20)]
    values[7] = blank
    log = text_log(written("Time,T1 (C),T2 (C)", stamps(20), values, range(20)))
    assert (log.channels[0].n, kinds_of(log)) == (19, [])


@pytest.mark.parametrize("code", [-999.0, 9999.0, 1372.0, -2500.0, 9.9e37])
def test_a_number_that_stands_for_no_reading_is_missing_and_told(code):
    values = [20 + n / 10 for n in range(20)]
    values[5] = values[6] = code
    log = text_log(written("Time,T1 (C)", stamps(20), values))
    assert (log.channels[0].missing, log.channels[0].maximum) == (2, 21.9)
    assert kinds_of(log) == [(7, "error-code"), (8, "error-code")]


def test_a_real_excursion_is_never_taken_for_a_code():
    values = ramp_and_soak()
    values[60:63] = [130.0] * 3
    log = text_log(written("Time,T1 (C)", stamps(len(values)), values))
    assert (log.channels[0].missing, log.channels[0].maximum) == (0, 130.0)


def test_a_probe_that_never_moves_while_another_does_is_open_but_a_set_point_is_not():
    moving = ramp_and_soak()
    still = [83.0] * len(moving)
    log = text_log(written("Time,TC1 (C),TC2 (C),Set point (C)", stamps(len(moving)), moving, still, still))
    assert [channel.n for channel in log.channels] == [len(moving), 0, len(moving)]


def test_a_gauge_pressure_stays_one_without_a_barometer():
    rows = "".join(f"{n},{-20 - n}\n" for n in range(30))
    more = "".join(f"{n},{300 - n}\n" for n in range(30, 60))
    log = text_log(f"Time (s),Bag (inHg gauge)\n{rows}Time (s),Bag (mbar abs)\n{more}")
    assert log.channels[0].missing == 30
    assert (None, "unit-unknown") in kinds_of(log)


def test_ten_thousand_rows_of_eight_channels_are_read_whole():
    heading = "Time," + ",".join(f"TC{n} (°C)" for n in range(8))
    columns = [np.round(20 + np.arange(10_000) / 1000 + n, 2) for n in range(8)]
    log = text_log(written(heading, stamps(10_000, step_s=1), *columns))
    assert log.rows == 10_000
    for channel, column in zip(log.channels, columns, strict=True):
        assert np.array_equal(channel.values, column)
