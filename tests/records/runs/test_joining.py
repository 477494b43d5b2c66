"""Two downloads of one recorder: each reading once, whichever file comes first, and nothing put together by guess."""

import numpy as np
import pytest

from records.runs.reading import NotOneRecord, continuing, join_logs
from tests.records.runs.files import EXPECTED, kinds_of, log_of, stamps, text_log, written

FIRST, SECOND = "r10a_first_download.csv", "r10b_second_download.csv"


@pytest.mark.parametrize("names", [(FIRST, SECOND), (SECOND, FIRST)])
def test_a_download_that_holds_an_earlier_one_again_doubles_no_reading(names):
    due = EXPECTED[SECOND]
    joined = join_logs([log_of(name) for name in names])
    assert (joined.rows, joined.rows_set_aside) == (due["rows"], 0)
    assert [(c.n, c.missing) for c in joined.channels] == [(due["rows"], 0)] * len(joined.channels)
    assert "199 rows of" in joined.notes[-1]
    assert joined.first == log_of(SECOND).first
    assert joined.last == log_of(SECOND).last


HEAD = "Time,T1 (C),T2 (C)"


def download(start, end, *, name="one.csv", head=HEAD, plus=0.0, lines=()):
    values = [20.0 + n + plus for n in range(start, end)]
    text = written(head, stamps(60)[start:end], values, values)
    return text_log(text + "".join(lines), name=name)


def test_a_part_overlap_is_taken_once_and_told():
    joined = join_logs([download(0, 20), download(15, 30, name="two.csv")])
    assert joined.rows == 30
    assert joined.channels[0].values.tolist() == [20.0 + n for n in range(30)]
    assert np.diff(joined.seconds).tolist() == [60.0] * 29
    assert joined.notes[-1] == "5 rows of two.csv stand in one.csv too and were taken once; 10 rows of it are new."


def test_a_download_that_begins_where_the_other_ends_goes_on():
    joined = join_logs([download(10, 20, name="two.csv"), download(0, 10)])
    assert joined.rows == 20
    assert joined.notes[-1] == "two.csv goes on where one.csv ends; no row stands in both."


def test_rows_set_aside_are_told_with_their_file():
    joined = join_logs([download(0, 20), download(20, 30, name="two.csv", lines=["2026-11-24 09:30:00,1\n"])])
    assert (joined.rows, joined.rows_set_aside) == (31, 1)
    assert joined.problems[-1].words.startswith("In two.csv: Line 12 has 2 fields")
    assert all(c.n + c.missing == joined.rows - joined.rows_set_aside for c in joined.channels)


@pytest.mark.parametrize(
    ("other", "words"),
    [
        (download(15, 30, name="two.csv", plus=0.1), "differ between 2026-11-24T09:15:00 and 2026-11-24T09:19:00"),
        (download(15, 30, name="two.csv", head="Time,T1 (C),T3 (C)"), "have other channels"),
        (download(15, 30, name="two.csv", head="Time,T1 (C),T2 (F)"), "have other channels"),
        (text_log("t (s),T1 (C),T2 (C)\n0,1,2\n1,1,2\n2,1,2\n", name="two.csv"), "two.csv has no dates"),
    ],
)
def test_files_that_do_not_continue_one_another_are_refused_and_left_apart(other, words):
    one = download(0, 20)
    with pytest.raises(NotOneRecord, match=words):
        join_logs([one, other])
    assert continuing([one, other]) is other


def test_a_gap_between_two_downloads_is_told():
    joined = join_logs([download(0, 10), download(20, 30, name="two.csv")])
    assert joined.rows == 20
    assert kinds_of(joined) == [(2, "time-jump")]
    assert joined.problems[0].words == "A gap of 660 s between one.csv and two.csv; the usual step is 60 s."
