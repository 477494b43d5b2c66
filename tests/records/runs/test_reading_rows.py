"""Rows of recorder files: which are kept, which are set aside and named, which are no samples at all."""

import numpy as np
import pytest

from records.runs.reading import NotALog
from tests.records.runs.files import kinds_of, stamps, text_log, written

HEADING = "Timestamp,S1,S2,S3"


def test_a_row_with_a_field_too_few_belongs_to_no_channel():
    log = text_log(f"{HEADING}\n2025-01-01 10:00:00,23.4,22.9,22.8\n2025-01-01 10:00:05,22.9,22.7\n")
    assert (log.rows, log.rows_set_aside) == (2, 1)
    assert [channel.values.tolist() for channel in log.channels] == [[23.4], [22.9], [22.8]]
    assert log.problems[0].words == "Line 3 has 3 fields where 4 are due. It was set aside."


def test_a_row_with_a_field_too_many_is_set_aside():
    lines = written(HEADING, stamps(5), *[range(5)] * 3).splitlines()
    lines[2] += ",9"
    assert kinds_of(text_log("\n".join(lines) + "\n"))[0] == (3, "long-row")


def test_a_lost_line_end_is_two_rows_and_neither_is_read():
    lines = written(HEADING, stamps(6), *[range(6)] * 3).splitlines()
    joined = [*lines[:2], lines[2] + lines[3], *lines[4:]]
    log = text_log("\n".join(joined) + "\n")
    assert (3, "joined-rows") in kinds_of(log)
    assert log.channels[0].values.tolist() == [0, 3, 4, 5]


def test_a_lost_line_end_with_one_channel_is_seen_by_the_stamp_inside():
    lines = written("Time,T1", stamps(6), [20.5, 20.6, 20.7, 20.8, 20.9, 21.0]).splitlines()
    log = text_log("\n".join([*lines[:2], lines[2] + lines[3], *lines[4:]]) + "\n")
    assert (3, "joined-rows") in kinds_of(log)


def test_the_last_line_without_its_end_counts_when_it_is_whole():
    log = text_log(written(HEADING, stamps(5), *[range(5)] * 3).rstrip("\n"))
    assert (log.rows, log.rows_set_aside) == (5, 0)


def test_an_empty_field_at_the_end_of_every_row_is_no_channel():
    rows = "".join(f"{at},{n},{n},\n" for n, at in enumerate(stamps(5)))
    log = text_log("Time,S1,S2\n" + rows)
    assert [channel.name for channel in log.channels] == ["S1", "S2"]
    assert kinds_of(log) == []


def test_a_comment_left_off_at_the_end_of_the_line_moves_no_value():
    rows = "".join(f"{at},{n}\n" for n, at in enumerate(stamps(5)))
    assert text_log("Time,S1,Comment\n" + rows).rows_set_aside == 0


def test_a_reading_left_off_in_every_row_is_refused_since_it_may_be_any_of_them():
    rows = "".join(f"{at},{n}\n" for n, at in enumerate(stamps(5)))
    with pytest.raises(NotALog, match="hardly a row has the 3 fields"):
        text_log("Time,S1,S2\n" + rows)


@pytest.mark.parametrize(
    "line", ["2026-11-24 09:02:30,ALARM door open", "# door opened", "End of file", "2026-11-24 09:02:30,door,,"]
)
def test_a_remark_among_the_rows_is_an_event(line):
    lines = written(HEADING, stamps(6), *[range(6)] * 3).splitlines()
    log = text_log("\n".join([*lines[:4], line, *lines[4:]]) + "\n")
    assert (log.rows, log.rows_set_aside, len(log.events)) == (6, 0, 1)
    assert log.events[0].line == 5
    assert kinds_of(log) == []


def test_a_stray_quote_swallows_its_own_line_at_most():
    lines = written(HEADING, stamps(6), *[range(6)] * 3).splitlines()
    lines[2] = lines[2].replace(",1", ',"1', 1)
    log = text_log("\n".join(lines) + "\n")
    assert log.rows - log.rows_set_aside >= 5


def test_readings_after_a_block_of_nul_bytes_are_kept():
    lines = written(HEADING, stamps(20), *[range(20)] * 3).splitlines()
    lines[9] = lines[9][:22] + "\0" * 512
    log = text_log("\n".join(lines) + "\n")
    assert (log.encoding, log.rows, log.rows_set_aside) == ("ascii with NUL bytes", 20, 1)
    assert kinds_of(log)[0] == (10, "cut-short")


def test_more_than_fifty_of_a_kind_are_one_row_with_the_count():
    words = ["huh" if n % 2 else n for n in range(120)]
    log = text_log(written("Time,T1,T2", stamps(120), words, range(120)))
    of_kind = [problem for problem in log.problems if problem.kind.value == "not-a-number"]
    assert [(problem.line, problem.words.split()[0]) for problem in of_kind] == [(3, "60")]
    assert log.channel("T1").n == 60


def test_fifty_of_a_kind_are_fifty_rows():
    words = ["huh" if n < 50 else n for n in range(120)]
    log = text_log(written("Time,T1,T2", stamps(120), words, range(120)))
    assert len(log.problems) == 50


def test_only_the_channels_asked_for_are_told():
    text = written("Time,T1 (°C),T2 (°C)", stamps(5), range(5), range(5))
    assert [c.name for c in text_log(text, columns=["t2"]).channels] == ["T2"]
    with pytest.raises(NotALog, match="has no channel T9; its channels are T1, T2"):
        text_log(text, columns=["T9"])


def test_two_tags_at_one_time_stand_on_one_place_of_the_axis():
    rows = [f"{tag};{at};{n}" for n, at in enumerate(stamps(5)) for tag in ("A", "B")]
    log = text_log("Tag;Stamp;Value\n" + "\n".join(rows) + "\n")
    assert [channel.values.tolist() for channel in log.channels] == [[0, 1, 2, 3, 4]] * 2
    assert (np.diff(log.seconds) == 60).all()


def two_headings(second, rows):
    first = "".join(f"{n},{20 + n},{900 - n}\n" for n in range(20))
    return text_log(f"t_s,T1 (C),P (mbar)\n{first}{second}\n{rows}")


def test_a_heading_that_comes_again_in_another_order_moves_the_values_with_it():
    log = two_headings("t_s,P (Pa),T1 (C)", "".join(f"{n},{(900 - n) * 100},{20 + n}\n" for n in range(20, 40)))
    assert log.channel("T1").values.tolist() == [20 + n for n in range(40)]
    assert log.channel("P").unit == "Pa"
    assert log.channel("P").values[[0, -1]].tolist() == [90_000, 86_100]


def test_rows_under_a_heading_with_other_columns_are_set_aside():
    log = two_headings("t_s,T1 (C),P (mbar),T2 (C)", "".join(f"{n},{20 + n},{900 - n},1\n" for n in range(20, 40)))
    assert (log.rows, log.rows_set_aside) == (40, 20)
    assert log.channel("T1").n == 20
