"""Which columns are the order, the readings and the subgroups."""

from zoneinfo import ZoneInfo

import pytest

from records.ledger.refusals import Refused
from records.spc.columns import single_readings, subgroups_across, subgroups_by_group, subgroups_by_size
from records.spc.reading import read_table


def table(text):
    """The table of a file with this text."""
    return read_table(text.encode(), "widths.csv")


def told(chosen):
    """Places as name and readings in text."""
    return [(p.at, [None if r is None else str(r) for r in p.readings]) for p in chosen.places]


def test_a_first_column_that_rises_by_one_is_the_order():
    chosen = single_readings(table("batch,flow\n7,49.6\n8,47.6\n9,49.9\n"))
    assert told(chosen) == [("7", ["49.6"]), ("8", ["47.6"]), ("9", ["49.9"])]


def test_a_first_column_of_times_is_the_order():
    chosen = single_readings(table("when,flow\n2026-05-11 08:49:00,49.6\n2026-05-11 08:51:00,47.6\n"))
    assert [p.at for p in chosen.told_in(None).places] == ["2026-05-11T08:49:00", "2026-05-11T08:51:00"]


def test_a_time_that_comes_twice_names_both_readings():
    """A clock set back: both are kept in the order of the file."""
    stamp = "2014-01-07T02:00:00"
    chosen = single_readings(table(f"when,flow\n{stamp},49.6\n{stamp},47.6\n"))
    assert [p.at for p in chosen.places] == [stamp, stamp]


def test_a_row_without_its_order_is_named_by_its_line():
    chosen = single_readings(table("n,a\n1,23.4\n2,22.9,7\n3,23.1\n"))
    assert [p.at for p in chosen.places] == ["1", "line 3", "3"]


def test_times_get_the_offset_of_the_zone_asked_for():
    chosen = single_readings(table("when,flow\n2026-05-11 08:49:00,49.6\n2026-01-11T08:51:00Z,47.6\n"))
    found = [p.at for p in chosen.told_in(ZoneInfo("Europe/Berlin")).places]
    assert found == ["2026-05-11T08:49:00+02:00", "2026-01-11T08:51:00+00:00"]


@pytest.mark.parametrize(
    ("stamp", "kind"), [("2025-10-26 02:30:00", "ambiguous-time"), ("2025-03-30 02:30:00", "no-such-time")]
)
def test_an_hour_that_comes_twice_or_never_is_a_problem_and_no_guess(stamp, kind):
    chosen = single_readings(table(f"when,flow\n{stamp},49.6\n2025-11-02 10:00:00,47.6\n"))
    found = chosen.told_in(ZoneInfo("Europe/Berlin"))
    assert found.places[0].at == stamp.replace(" ", "T")
    assert [(p.line, p.kind) for p in found.problems] == [(2, kind)]


def test_two_columns_of_numbers_are_named_and_asked_about():
    with pytest.raises(Refused, match="width, height") as refused:
        single_readings(table("serial,width,height\nA,1.0,2.0\nB,1.1,2.1\n"))
    assert refused.value.code == "several-columns"


def test_a_first_column_that_jumps_is_a_second_column_of_numbers():
    with pytest.raises(Refused, match="several columns"):
        single_readings(table("serial,width\n417,1.0\n419,1.1\n420,1.1\n"))


def test_a_lone_column_that_rises_by_one_is_the_readings():
    assert [p.at for p in single_readings(table("width\n1\n2\n3\n")).places] == ["1", "2", "3"]


@pytest.mark.parametrize("name", ["width [mm]", "width", " WIDTH "])
def test_a_column_is_named_with_or_without_its_unit(name):
    chosen = single_readings(table("width [mm],height\n1.0,2.0\n1.1,2.2\n"), column=name)
    assert (chosen.columns[0].name, chosen.columns[0].unit) == ("width", "mm")


def test_a_column_that_is_not_there_is_told_with_those_that_are():
    with pytest.raises(Refused, match="There is no column depth; the columns are: width, height"):
        single_readings(table("width,height\n1.0,2.0\n1.1,2.2\n"), column="depth")


def test_two_columns_of_one_name_are_no_choice():
    with pytest.raises(Refused, match="More than one column"):
        single_readings(table("width,width\n1.0,2.0\n1.1,2.2\n"), column="width")


def test_serials_name_the_points_as_they_are_written():
    chosen = single_readings(table("serial,width\n000417,1.0\n12E4,1.1\n1E1000,1.2\n"))
    assert [p.at for p in chosen.places] == ["000417", "12E4", "1E1000"]


def test_serials_that_come_twice_name_nothing():
    assert [p.at for p in single_readings(table("serial,width\nA,1.0\nA,1.1\n")).places] == ["1", "2"]


def test_an_unreadable_number_is_named_with_its_line_and_leaves_its_place_empty():
    text = "n,width\n" + "".join(f"{n},{'34.9x' if n == 16 else 34.9}\n" for n in range(1, 21))
    chosen = single_readings(table(text))
    assert [(p.line, p.kind) for p in chosen.problems] == [(17, "not-a-number")]
    assert "Line 17: “34.9x” in width" in chosen.problems[0].words
    assert chosen.places[15].readings == (None,)


def test_an_empty_cell_is_missing_and_no_fault():
    chosen = single_readings(table("n,width\n1,34.9\n2,\n3,34.8\n4,34.9\n"))
    assert (chosen.problems, chosen.places[1].known) == ((), ())


def test_all_columns_that_are_left_are_the_readings_of_a_subgroup():
    chosen = subgroups_across(table("subgroup,x1,x2,note\n1,1.0,1.2,fine\n2,1.1,,torn\n"))
    assert told(chosen) == [("1", ["1.0", "1.2"]), ("2", ["1.1", None])]


def test_subgroups_may_be_named_columns():
    chosen = subgroups_across(table("a,b,c\n1.0,1.2,9\n1.1,1.3,9\n"), columns=("a", "b"))
    assert told(chosen) == [("1", ["1.0", "1.2"]), ("2", ["1.1", "1.3"])]


def test_one_column_alone_asks_how_to_form_subgroups():
    with pytest.raises(Refused, match="--size or --group"):
        subgroups_across(table("n,width\n1,34.9\n2,34.8\n"))


def test_subgroups_of_a_size_follow_each_other_and_the_last_may_be_short():
    chosen = subgroups_by_size(table("width\n1.0\n1.1\n1.2\n1.3\n1.4\n"), 2)
    assert told(chosen) == [("1", ["1.0", "1.1"]), ("2", ["1.2", "1.3"]), ("3", ["1.4"])]


def test_subgroups_by_a_column_need_no_word_about_the_other():
    chosen = subgroups_by_group(table("width,shift\n1.0,early\n1.1,late\n1.2,early\n1.3,late\n"), "shift")
    assert told(chosen) == [("early", ["1.0", "1.2"]), ("late", ["1.1", "1.3"])]


def test_a_file_of_words_beside_its_order_has_no_readings():
    with pytest.raises(Refused, match="no column of numbers"):
        single_readings(table("n,lot\n1,A\n2,B\n3,C\n"))
