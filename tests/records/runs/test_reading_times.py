"""Times of recorder files: one order of day and month for a file, zones, hours that come twice or never."""

import numpy as np
import pytest

from records.runs.reading import Clock, Kind, NotALog
from records.runs.reading.stamps import stamps_of
from tests.records.runs.files import kinds_of, stamps, text_log, written

SPRING, AUTUMN = "2026-03-29", "2025-10-26"


def hours(day, *of_day):
    """Stamps of every minute of these hours of a day."""
    return [f"{day} {hour:02d}:{minute:02d}:00" for hour in of_day for minute in range(60)]


def of(times, **asked):
    return text_log(written("Time,TC1 (degC)", times, [20 + n % 7 for n in range(len(times))]), **asked)


@pytest.mark.parametrize("dates", [["13/06/2018", "12/06/2018"], ["12/06/2018", "13/06/2018"]])
def test_one_day_above_twelve_settles_the_whole_file_in_any_order(dates):
    log = of(dates)
    assert {str(t)[:10] for t in log.times} == {"2018-06-12", "2018-06-13"}


def test_days_of_twelve_or_less_are_asked_about_and_never_guessed():
    log = of([f"{day:02d}/06/2018 10:00" for day in range(1, 13)])
    assert (log.first, log.clock) == (None, Clock.NONE)
    assert kinds_of(log) == [(None, "day-or-month")]


@pytest.mark.parametrize(("order", "first"), [("day-first", "2018-06-01"), ("month-first", "2018-01-06")])
def test_an_order_that_the_person_gives_is_taken(order, first):
    assert of([f"{day:02d}/06/2018" for day in range(1, 13)], dates=order).first.startswith(first)


def test_a_clock_that_runs_on_past_midnight_proves_the_order():
    night = [f"06/10/2020 {h}:{m:02d}:00" for h in (22, 23) for m in range(60)]
    log = of([*night, *(f"07/10/2020 00:{m:02d}:00" for m in range(60))])
    assert log.last == "2020-10-07T00:59:00"


def test_dates_with_points_have_the_day_first():
    assert of(["09.03.2026 06:58", "09.03.2026 06:59"]).first == "2026-03-09T06:58:00"


def test_stamps_without_a_year_take_it_from_a_date_before_the_rows():
    rows = [f"{h}:{m:02d}-31/12;20,{m}" for h in (23,) for m in range(60)] + [
        f"00:{m:02d}-1/1;21,{m}" for m in range(9)
    ]
    log = text_log("Oven;Date: 2/1-2026\n\nTime;T1 [°C]\n" + "\n".join(rows) + "\n")
    assert (log.first, log.last) == ("2025-12-31T23:00:00", "2026-01-01T00:08:00")


@pytest.mark.parametrize(
    ("cell", "right"),
    [
        ("01/13/17 12:05:00 AM", "2017-01-13T00:05:00"),
        ("01/13/17 12:05:00 PM", "2017-01-13T12:05:00"),
        ("11-Dec-2020 10:00", "2020-12-11T10:00:00"),
        ("14 Dez 2020 10:00", "2020-12-14T10:00:00"),
        ("20250125T183944", "2025-01-25T18:39:44"),
        ("2025/01/25 18:39:44,25", "2025-01-25T18:39:44.250000"),
        ("2025-02-29 10:00:00", "NaT"),
    ],
)
def test_a_stamp_is_read_as_written(cell, right):
    assert str(stamps_of([cell]).times[0]).startswith(right)


def test_offsets_in_the_stamps_are_kept():
    log = of([f"2025-03-01T10:{m:02d}:00+01:00" for m in range(5)])
    assert (log.zone, log.first) == ("+01:00", "2025-03-01T10:00:00+01:00")
    assert log.times[0] == np.datetime64("2025-03-01T09:00:00")


def test_what_the_file_says_of_its_zone_comes_before_the_zone_asked_for():
    log = text_log(written("time_utc,T1", stamps(5), [1, 2, 3, 4, 5]), zone="Europe/Berlin")
    assert (log.zone, log.first) == ("UTC", "2026-11-24T09:00:00+00:00")


def test_the_clock_going_forward_makes_no_gap_once_the_zone_is_known():
    log = of(hours(SPRING, 1, 3), zone="Europe/Berlin")
    assert kinds_of(log) == []
    assert set(np.diff(log.seconds)) == {60.0}


def test_a_time_that_the_clock_jumps_over_is_set_aside():
    log = of(hours(SPRING, 1, 2, 3), zone="Europe/Berlin")
    assert log.rows_set_aside == 60
    assert kinds_of(log) == [(62, "no-such-time")]


def test_an_hour_that_comes_twice_is_no_guess_when_the_file_shows_one_pass():
    log = of(hours(AUTUMN, 1, 2, 3), zone="Europe/Berlin")
    assert log.rows_set_aside == 60
    assert (62, "ambiguous-time") in kinds_of(log)


def test_a_file_that_lies_wholly_in_such_an_hour_has_no_times():
    log = of(hours(AUTUMN, 2)[10:40], zone="Europe/Berlin")
    assert (log.rows, log.rows_set_aside, log.first) == (30, 30, None)


def test_the_file_with_the_latest_row_first_is_turned_round():
    log = of(list(reversed(stamps(10))))
    assert kinds_of(log) == []
    assert (np.diff(log.seconds) == 60).all()


def test_a_time_of_day_takes_the_one_date_before_the_rows_and_runs_past_midnight():
    rows = "\n".join(f"{h:02d}:{m:02d}:00;20,5" for h in (23, 0) for m in range(60))
    log = text_log(f"Date: 2025-03-01\nZone: Europe/Berlin\nTime;T1 (°C)\n{rows}\n")
    assert (log.first, log.last) == ("2025-03-01T23:00:00+01:00", "2025-03-02T00:59:00+01:00")


def test_a_time_of_day_without_any_date_is_told():
    log = text_log(written("Time,T1", [f"10:{m:02d}:00" for m in range(9)], range(9)))
    assert (log.clock, log.first, log.last) == (Clock.TIME_OF_DAY, "10:00:00", "10:08:00")
    assert kinds_of(log) == [(1, "no-time")]


@pytest.mark.parametrize(("heading", "scale"), [("t_s", 1), ("Time (min)", 60), ("Elapsed [h]", 3600)])
def test_time_gone_by_is_told_in_seconds(heading, scale):
    log = text_log(written(f"{heading},T1", range(9), range(9)))
    assert (log.clock, log.last) == (Clock.ELAPSED, 8.0 * scale)


@pytest.mark.parametrize("scale", [1, 1000])
def test_seconds_since_1970_are_utc(scale):
    log = text_log(written("unix_time,T1", [(1735689600 + n) * scale for n in range(9)], range(9)))
    assert (log.zone, log.first) == ("UTC", "2025-01-01T00:00:00+00:00")


def test_a_gap_is_told_at_the_line_after_it():
    times = stamps(30)
    log = of(times[:10] + times[15:])
    assert kinds_of(log) == [(12, "time-jump")]


def test_a_row_without_a_readable_time_is_set_aside():
    times = stamps(9)
    times[4] = "2026-13-45 09:04:00"
    log = of(times)
    assert (log.rows, log.rows_set_aside) == (9, 1)
    assert (6, "no-time") in kinds_of(log)


def test_a_zone_that_is_none_is_refused():
    with pytest.raises(NotALog, match="There is no zone Mars/Base"):
        of(stamps(3), zone="Mars/Base")


def test_standard_time_in_winter_names_one_offset():
    log = text_log(written("Date-Time (Pacific Standard Time),T1", stamps(5, day="2022-01-10"), range(5)))
    assert log.zone == "-08:00"
    assert Kind.AMBIGUOUS_TIME not in {problem.kind for problem in log.problems}
