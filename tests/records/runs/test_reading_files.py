"""Whole recorder files, held against what a separate, plain parser found in them (see tests/data/LICENCES.md)."""

from datetime import UTC, datetime

import numpy as np
import pytest

from records.runs.reading import Clock, Kind, facts_of
from tests.records.runs.files import EXPECTED, kinds_of, log_of

FILES = [name for name in EXPECTED if name != "m06_date_rounding.xlsx"]
# The plain parser left out of its count what was set aside; here rows set aside count as rows, and event lines don't.
ROWS = {"r07_semicolon_cut_off.csv": (60, 1), "s15_plc_long_format.csv": (881, 1),
        "s16_power_loss_nul_bytes.csv": (278, 8), "r02_five_sensors_short_rows.csv": (3056, 16)}  # fmt: skip
# Units are spelt in one way; what the plain parser wrote beside them is told in the quantity.
UNITS = {"Newtons": "N", "m/s^2": "m/s2", "mbar abs": "mbar", "not stated": None, "degC (not stated in file)": None,
         "mbar abs (first part = 1002.4 + inHg x 33.8639)": "mbar"}  # fmt: skip
# Pure ASCII is also UTF-8; the narrower name is told.
ENCODINGS = {"s14_units_change_header_repeats.csv": "ascii"}
# The plain parser doesn't say it; counted by eye.
HEADINGS = {"s16_power_loss_nul_bytes.csv": 2}


def bare(name):
    return name.split(" (")[0].split("   ")[0].strip()


def channel_for(log, name):
    return next(c for c in log.channels if bare(c.name) == bare(name) or c.name == f"{name} Temperature")


@pytest.mark.parametrize("name", FILES)
def test_rows_are_counted_set_aside_or_not(name):
    log = log_of(name)
    assert (log.rows, log.rows_set_aside) == ROWS.get(name, (EXPECTED[name]["rows"], 0))


@pytest.mark.parametrize("name", FILES)
def test_every_channel_has_its_readings_its_unit_and_its_extremes(name):
    log = log_of(name)
    for channel_name, right in EXPECTED[name]["channels"].items():
        channel = channel_for(log, channel_name)
        assert (channel.n, channel.missing) == (right["n"], right["missing"]), channel_name
        assert channel.unit == UNITS.get(right["unit"], right["unit"]), channel_name
        for got, due in ((channel.minimum, right["min"]), (channel.maximum, right["max"])):
            assert got == pytest.approx(due, abs=5e-3 if name.startswith("s14") else 1e-9), channel_name


@pytest.mark.parametrize("name", FILES)
def test_readings_and_missing_ones_make_up_the_rows_kept(name):
    log = log_of(name)
    if name.startswith("s15"):  # one line for each channel and stamp: the channels share the lines
        assert sum(c.n + c.missing for c in log.channels) == log.rows - log.rows_set_aside
    else:
        assert {c.n + c.missing for c in log.channels} == {log.rows - log.rows_set_aside}


@pytest.mark.parametrize("name", FILES)
def test_the_dialect_is_found_by_looking(name):
    log, right = log_of(name), EXPECTED[name]
    if right.get("container"):
        assert (log.encoding, log.delimiter) == (None, None)
        return
    assert log.encoding == ENCODINGS.get(name, right["encoding"])
    assert log.delimiter == right["delimiter"]
    assert log.decimal == right["decimal"]
    assert log.header_line == right.get("header_line", (right.get("header_lines") or [HEADINGS.get(name)])[0])


@pytest.mark.parametrize("name", [n for n in FILES if isinstance(EXPECTED[n].get("time", {}).get("last"), str)])
def test_first_and_last_are_as_in_the_file(name):
    if "spreadsheet" not in EXPECTED[name]["time"].get("kind", "") and "kind" in EXPECTED[name]["time"]:
        pytest.fail(f"{name} tells its times in another way: give it a test of its own")
    log, right = log_of(name), EXPECTED[name]["time"]
    assert (log.first[:19], log.last[:19]) == (
        right["first"][:19].replace(" ", "T"),
        right["last"][:19].replace(" ", "T"),
    )


def test_short_rows_are_named_by_line_and_never_filled_from_the_left():
    log = log_of("r02_five_sensors_short_rows.csv")
    assert [line for line, kind in kinds_of(log) if kind == "short-row"] == EXPECTED[log.name]["rows_short"]


def test_an_offset_in_the_heading_is_the_zone():
    log = log_of("r01_hourly_degF_12h.csv")
    assert (log.zone, log.first) == ("-08:00", "2017-01-13T01:00:00-08:00")


def test_both_readings_of_a_repeated_hour_are_kept_and_told():
    log = log_of("r03_machine_temp_repeated_hour.csv")
    twice = [line for line, kind in kinds_of(log) if kind == "time-twice"]
    assert len(twice) == EXPECTED[log.name]["repeated_count"]
    assert [kind for _, kind in kinds_of(log)].count("time-back") == EXPECTED[log.name]["time"]["backward_steps"]


def test_a_file_without_names_or_start_is_asked_about_and_not_guessed():
    log = log_of("r04_chamber_no_header.dlog")
    assert (log.clock, log.first, log.header_line) == (Clock.NONE, None, None)
    assert {"no-time", "long-row"} == {kind for _, kind in kinds_of(log)}


def test_times_are_built_from_a_start_and_a_step():
    log = log_of("r05_block_decimal_comma.lvm")
    right = EXPECTED[log.name]["time"]
    assert log.first == right["channel_start"].replace(" ", "T")
    assert log.seconds[-1] == pytest.approx(right["step_s"] * (right["samples"] - 1), abs=1e-6)
    assert [c.quantity for c in log.channels] == ["force", "acceleration"]


def test_a_reading_below_absolute_zero_is_an_open_input():
    log = log_of("r06_open_thermocouples.txt")
    assert (5, "error-code") in kinds_of(log)
    assert [c.n for c in log.channels if c.quantity == "temperature"] == [0] * 16


def test_the_last_line_cut_in_the_middle_is_set_aside():
    assert (80, "cut-short") in kinds_of(log_of("r07_semicolon_cut_off.csv"))


def test_start_and_zone_of_a_title_place_the_times_gone_by():
    log = log_of("r08_two_thermocouples.xlsx")
    right = EXPECTED[log.name]["time"]
    last = datetime.fromisoformat(log.last).astimezone(UTC).isoformat()
    assert last == right["last_abs_utc"].replace("Z", "+00:00") or last.startswith(right["last_abs_utc"])
    assert log.seconds[-1] == pytest.approx(right["last"] - right["first"], abs=1e-5)


def test_volts_of_a_gauge_are_never_called_a_pressure():
    log = log_of("r09_vacuum_gauges_raw_volts.csv")
    assert {(c.quantity, c.unit) for c in log.channels} == {("voltage", "V")}


@pytest.mark.parametrize("name", ["r10a_first_download.csv", "r10b_second_download.csv"])
def test_event_lines_are_no_samples_and_a_zone_that_contradicts_the_date_is_asked_about(name):
    log = log_of(name)
    assert len(log.events) == EXPECTED[name]["event_rows"]
    assert log.zone is None
    assert (1, "ambiguous-time") in kinds_of(log)
    assert "time-jump" not in {kind for _, kind in kinds_of(log)}


def test_a_counter_that_falls_back_begins_a_batch():
    log = log_of("r11_seventy_batches_one_file.csv")
    lengths = np.diff([*log.starts, log.rows])
    right = EXPECTED[log.name]
    assert (len(lengths), lengths.min(), lengths.max()) == (
        right["batches"],
        right["shortest_batch"],
        right["longest_batch"],
    )
    assert "time-back" not in {kind for _, kind in kinds_of(log)}


def test_the_open_value_of_one_probe_is_known_in_another_but_a_real_one_stays():
    log = log_of("s12_vacuum_oven_semicolon.csv")
    assert 83.0 in log.channel("Shelf1").values  # leads up to it and away from it
    assert 83.0 not in log.channel("Shelf2").values


def test_a_night_with_an_hour_twice_is_an_hour_longer_once_the_zone_is_given():
    right = EXPECTED["s13_autumn_clock_change_utf16.txt"]
    log = log_of("s13_autumn_clock_change_utf16.txt", zone="Europe/Berlin")
    instants = [datetime.fromisoformat(at).astimezone(UTC).isoformat() for at in (log.first, log.last)]
    assert instants == [right["time_utc"]["first"], right["time_utc"]["last"]]
    assert set(np.diff(log.seconds)) == {60.0}
    assert [kind for _, kind in kinds_of(log)] == ["ambiguous-time"]


def test_without_a_zone_the_hour_that_comes_twice_is_told():
    log = log_of("s13_autumn_clock_change_utf16.txt")
    twice = next(problem for problem in log.problems if problem.kind is Kind.TIME_TWICE)
    assert twice.words.startswith(str(EXPECTED[log.name]["time_local"]["stamps_seen_twice"]))


def test_gauge_pressure_becomes_absolute_by_the_barometer_of_the_file_alone():
    log = log_of("s14_units_change_header_repeats.csv")
    vacuum = log.channel("Bag vacuum")
    assert (vacuum.quantity, vacuum.unit) == ("pressure-absolute", "mbar")
    assert (log.first, log.last) == (0.0, 5990.0)


def test_a_tag_that_changes_its_name_is_told_and_not_joined():
    log = log_of("s15_plc_long_format.csv")
    assert [c.name for c in log.channels] == list(EXPECTED[log.name]["channels"])
    assert any("TC_MOULD_01" in note and "Not joined" in note for note in log.notes)
    assert len(log.events) == EXPECTED[log.name]["marker_rows"]
    jump = next(problem for problem in log.problems if problem.kind is Kind.TIME_JUMP)
    assert f"{EXPECTED[log.name]['time']['largest_step_s']:g} s" in jump.words


def test_reading_goes_on_after_a_loss_of_power():
    log = log_of("s16_power_loss_nul_bytes.csv")
    assert [line for line, kind in kinds_of(log) if kind == "cut-short"] == [153, 283]
    assert [line for line, kind in kinds_of(log) if kind == "no-time"] == list(range(156, 162))
    assert np.diff(log.seconds).max() == EXPECTED[log.name]["time"]["largest_step_s"]


def test_every_fact_can_stand_in_an_answer():
    facts = facts_of(log_of("s12_vacuum_oven_semicolon.csv"))
    assert facts["channels"][2] == {"name": "Shelf3", "quantity": "temperature", "unit": "degC", "n": 0, "missing": 420,
                                    "min": None, "max": None}  # fmt: skip
