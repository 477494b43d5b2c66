"""The command ``spc``: stable keys, exit codes, one sentence where it can't answer. It is never given a database."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from records.spc.management.commands.spc import Command
from tests.records.spc.published import MEASUREMENTS, REFERENCE, measured

FLOW = str(REFERENCE / "02_imr_nist_6322.csv")
RINGS = str(REFERENCE / "02_piston_rings_25x5.csv")
GEAR = str(MEASUREMENTS / "m01_gear_diameter.dat")
WAFER = str(MEASUREMENTS / "m02_wafer_thickness.dat")
OFFSET = str(MEASUREMENTS / "m03_large_offset_small_spread.dat")
COLOUR = str(MEASUREMENTS / "m05_integer_colour.csv")
INDIVIDUALS = ("--chart", "individuals")


@pytest.fixture
def ask(capsys):
    """Ask the command; gives exit code, stdout and stderr."""

    def asked(*args):
        try:
            Command().run_from_argv(["manage.py", "spc", *args])
            code = 0
        except SystemExit as left:
            code = left.code
        out, err = capsys.readouterr()
        return code, out, err

    return asked


@pytest.fixture
def answer(ask):
    """Ask for JSON; gives exit code and answer, and holds that nothing else was printed."""

    def asked(*args):
        code, out, err = ask(*args, "--json")
        assert err == ""
        return code, json.loads(out)

    return asked


@pytest.fixture
def written(tmp_path):
    """A file with this content; gives its path."""

    def make(content, name="widths.csv"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return str(path)

    return make


def test_the_handbooks_flow_rates_give_its_limits(answer):
    """NIST/SEMATECH e-Handbook 6.3.2.2: 50.81, 45.8159, 55.8041."""
    code, found = answer(FLOW, *INDIVIDUALS)
    single, moving = found["charts"]
    assert (code, found["column"], found["n"], found["signals"]) == (0, "flowrate", 10, [])
    assert (single["name"], moving["name"]) == ("individuals", "moving-range")
    limits = [single[side] for side in ("centre", "lower", "upper")]
    assert limits == pytest.approx([50.81, 45.8159, 55.8041], abs=5e-5)
    assert moving["centre"] == pytest.approx(1.8778, abs=5e-5)
    assert (single["points"][0], moving["points"][0]["at"]) == ({"at": "1", "value": 49.6, "signals": []}, "2")


def test_the_answer_has_every_key_of_its_form(answer):
    _, found = answer(FLOW, *INDIVIDUALS)
    assert set(found) >= {
        "command", "file", "chart", "column", "n", "subgroups", "trial", "frozen", "charts", "sigma", "signals",
        "tolerance", "indices", "cautions", "problems",
    }  # fmt: skip
    assert set(found["sigma"]) == {"within", "how", "df", "overall"}
    assert set(found["indices"]) >= {"shown", "why", "cp", "cpk", "cpk_least", "pp", "ppk"}
    assert set(found["tolerance"]) >= {"lower", "upper", "outside"}
    assert (found["command"], found["file"], found["chart"]) == ("spc", "02_imr_nist_6322.csv", "individuals")


def test_the_rings_give_the_textbooks_limits_and_indices(answer):
    """Montgomery, Table 6.3: 74.0012, 73.9878, 74.0146, range 0.0491; Cp 1.668 from the unrounded sigma."""
    code, found = answer(RINGS, "--chart", "xbar-r", "--lower", "73.95", "--upper", "74.05")
    averages, ranges = found["charts"]
    assert (code, found["subgroups"], found["n"], found["trial"]) == (0, 25, 125, False)
    limits = [averages[side] for side in ("centre", "lower", "upper")]
    assert limits == pytest.approx([74.001176, 73.987771, 74.014581], abs=1e-6)
    assert (ranges["lower"], ranges["upper"]) == (0, pytest.approx(0.049141, abs=1e-6))
    indices = found["indices"]
    assert indices["shown"]
    assert (indices["cp"], indices["cpk"]) == pytest.approx((1.66805, 1.628817), abs=1e-5)
    assert (indices["pp"], indices["ppk"]) == pytest.approx((1.634166, 1.595731), abs=1e-5)


@pytest.mark.parametrize(("file", "group", "outside"), [(GEAR, "batch", "5.000"), (WAFER, "day", "20")])
def test_published_subgroups_give_the_limits_worked_out_apart(answer, file, group, outside):
    """Those were worked out with d2 to three decimals; a thousandth of the width covers the difference."""
    told = measured(file.rsplit("/", 1)[1])
    code, found = answer(file, "--chart", "xbar-r", "--group", group)
    averages, ranges = found["charts"]
    width = told["chart"]["UCL_x"] - told["chart"]["LCL_x"]
    assert averages["lower"] == pytest.approx(told["chart"]["LCL_x"], abs=width / 1000)
    assert averages["upper"] == pytest.approx(told["chart"]["UCL_x"], abs=width / 1000)
    assert ranges["centre"] == pytest.approx(told["chart"]["Rbar"], abs=1e-9)
    assert found["sigma"]["overall"] == pytest.approx(told["overall_sd_n_minus_1"], abs=5e-8)
    raised = [s["at"] for s in found["signals"] if (s["chart"], s["rule"]) == ("xbar", "outside-limits")]
    assert (code, raised) == (1, [outside])


def test_by_size_and_by_group_give_the_same_subgroups(answer):
    by_group = answer(GEAR, "--chart", "xbar-r", "--group", "BATCH")[1]
    by_size = answer(GEAR, "--chart", "xbar-r", "--column", "DIAMETER", "--size", "10")[1]
    values = [[point["value"] for point in found["charts"][0]["points"]] for found in (by_group, by_size)]
    assert values[0] == values[1]


def test_whole_numbers_give_the_limits_worked_out_apart(answer):
    told = measured("m05_integer_colour.csv")["individuals"]
    _, found = answer(COLOUR, *INDIVIDUALS)
    single = found["charts"][0]
    assert (single["lower"], single["upper"]) == pytest.approx((told["LCL"], told["UCL"]), abs=1e-6)
    assert found["sigma"]["overall"] == pytest.approx(told["sd_n_minus_1"], abs=1e-6)
    assert [s for s in found["signals"] if s["rule"] == "outside-limits"] == []
    assert found["cautions"] == []


def test_a_large_offset_keeps_the_digits_of_the_spread(answer):
    """NIST Statistical Reference Datasets, NumAcc4: mean 10000000.2 and deviation 0.1, exact."""
    _, found = answer(OFFSET, *INDIVIDUALS)
    assert found["charts"][0]["centre"] == pytest.approx(10000000.2, abs=1e-8)
    assert found["charts"][1]["centre"] == pytest.approx(0.1999, abs=1e-8)
    assert found["sigma"]["overall"] == pytest.approx(0.1, abs=1e-8)


def test_a_reading_outside_the_tolerance_is_a_bad_answer(answer):
    code, found = answer(FLOW, *INDIVIDUALS, "--upper", "53.5")
    assert code == 1
    assert found["tolerance"]["outside"] == [{"at": "9", "value": 53.6, "verdict": "outside-high"}]


def test_a_reading_on_the_limit_is_inside_digit_by_digit(answer, written):
    """In binary 34.9 + 0.05 is 34.949999999999996 and calls 34.95 outside."""
    file = written("width\n34.95\n34.85\n34.90\n34.91\n34.89\n")
    code, found = answer(file, *INDIVIDUALS, "--lower", "34,85", "--upper", "34.95")
    assert (code, found["tolerance"]["outside"]) == (0, [])


def test_a_signal_is_a_bad_answer_and_takes_cp_away(answer, written):
    file = written("width\n" + "\n".join(["10.0", "10.3", "9.8", "10.1", "9.7"] * 5 + ["13.0"]))
    code, found = answer(file, *INDIVIDUALS, "--lower", "5", "--upper", "15")
    first = found["signals"][0]
    told = [first[key] for key in ("chart", "rule", "at", "from", "words")]
    assert (code, told) == (1, ["individuals", "outside-limits", "26", "26", "Above the upper limit."])
    assert found["charts"][0]["points"][25]["signals"] == ["outside-limits"]
    assert (found["indices"]["shown"], found["indices"]["cp"], found["indices"]["cpk"]) == (False, None, None)
    assert found["indices"]["why"] == "A signal stands without a cause found."
    assert found["indices"]["pp"] > 0


def test_eight_on_one_side_are_a_signal_by_default_and_not_without_their_rule(answer, written):
    file = written("width\n" + "\n".join(["10.0", "10.3", "10.1", "10.4"] * 2 + ["9.9", "9.6", "9.8", "9.5"] * 2))
    code, found = answer(file, *INDIVIDUALS)
    assert (code, [(s["rule"], s["from"], s["at"]) for s in found["signals"]]) == (
        1,
        [("run-one-side", "1", "8"), ("run-one-side", "9", "16")],
    )
    assert answer(file, *INDIVIDUALS, "--rules", "outside-limits")[0] == 0


def test_too_coarse_a_gauge_is_a_caution_and_no_bad_answer(answer, written):
    file = written("width\n" + "\n".join("41.1" if n in (6, 14) else "41.0" for n in range(1, 21)))
    code, found = answer(file, *INDIVIDUALS)
    assert (code, found["signals"], [c["kind"] for c in found["cautions"]]) == (0, [], ["coarse-gauge"])


def test_one_sided_limits_leave_cp_unknown(answer):
    _, found = answer(FLOW, *INDIVIDUALS, "--upper", "60")
    assert (found["indices"]["cp"], found["indices"]["pp"]) == (None, None)
    assert found["indices"]["cpk"] == pytest.approx((60 - 50.81) / (3 * 1.6647), abs=1e-3)


def test_without_a_tolerance_the_answer_says_why_there_are_no_indices(answer):
    assert answer(FLOW, *INDIVIDUALS)[1]["indices"]["why"] == "No tolerance was given."


def test_limits_are_frozen_from_the_first_points(answer):
    _, found = answer(OFFSET, *INDIVIDUALS, "--freeze", "4")
    assert found["frozen"] == 4
    assert found["charts"][0]["centre"] == pytest.approx(10000000.175, abs=1e-8)
    assert len(found["charts"][0]["points"]) == 1001


def test_unequal_subgroups_carry_the_limits_of_each_point(answer, written):
    file = written("a,b,c,d\n1.0,1.2,1.1,\n1.1,1.3,,\n0.9,1.2,1.0,1.1\n")
    _, found = answer(file, "--chart", "xbar-r")
    assert found["sigma"]["within"] == pytest.approx(0.1470, abs=5e-5)
    uppers = [point["upper"] for point in found["charts"][0]["points"]]
    assert uppers[1] > uppers[0] > uppers[2]
    assert found["missing"] == 3


def test_the_distance_from_the_value_aimed_at_is_told(answer):
    tolerance = answer(FLOW, *INDIVIDUALS, "--target", "50")[1]["tolerance"]
    assert (tolerance["target"], tolerance["off_target"]) == (50, pytest.approx(0.81))


def test_the_table_tells_the_same_facts_and_releases_nothing(ask):
    code, out, err = ask(RINGS, "--chart", "xbar-r", "--lower", "73.95", "--upper", "74.05")
    assert (code, err) == (0, "")
    for told in ("125 readings in 25 subgroups", "73.987771", "74.014581", "Cp 1.668", "Cpk 1.629", "Ppk 1.596"):
        assert told in out
    assert "releases no part" in out


def test_the_table_names_a_performance_that_is_not_shown_steady(ask):
    code, out, _ = ask(GEAR, "--chart", "xbar-r", "--group", "batch", "--upper", "1.015")
    assert code == 1
    assert "No Cp or Cpk. A signal stands without a cause found." in out
    assert "not shown steady" in out
    assert "outside-high" in out


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (bytes(range(256)) * 4, "is no text file"),
        ("all of this\nis words\n", "has no column of numbers"),
        ("serial,width,height\nA,1.0,2.0\nB,1.1,2.1\n", "width, height"),
        ("width\n34.9\n", "at least 2 readings beside each other"),
    ],
    ids=["empty", "binary", "words", "two-columns", "one-value"],
)
def test_a_file_without_an_answer_gets_one_sentence(ask, written, content, words):
    code, out, err = ask(written(content), *INDIVIDUALS, "--json")
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert words in err


@pytest.mark.parametrize(
    ("args", "words"),
    [
        ((FLOW, "--chart", "t2"), "no chart of kind t2"),
        ((FLOW, "--chart", "pie"), "no chart of kind pie"),
        ((FLOW,), "--chart"),
        (INDIVIDUALS, "FILE"),
        (("nowhere.csv", *INDIVIDUALS), "There is no file nowhere.csv"),
        ((str(REFERENCE), *INDIVIDUALS), "is a folder"),
        ((FLOW, *INDIVIDUALS, "--column", "width"), "There is no column width"),
        ((FLOW, *INDIVIDUALS, "--column", "batch", "--column", "flowrate"), "give --column once"),
        ((FLOW, *INDIVIDUALS, "--lower", "abc"), "is no number"),
        ((FLOW, *INDIVIDUALS, "--lower", "nan"), "is no number"),
        ((FLOW, *INDIVIDUALS, "--lower", "60", "--upper", "40"), "must be below"),
        ((FLOW, *INDIVIDUALS, "--rules", "zigzag"), "There is no rule zigzag"),
        ((FLOW, *INDIVIDUALS, "--rules", ""), "There is no rule"),
        ((FLOW, *INDIVIDUALS, "--freeze", "11"), "from 2 to 10 points"),
        ((FLOW, *INDIVIDUALS, "--freeze", "x"), "--freeze"),
        ((FLOW, *INDIVIDUALS, "--size", "2"), "belong to --chart xbar-r"),
        ((FLOW, *INDIVIDUALS, "--count", "n"), "--count belongs to"),
        ((FLOW, *INDIVIDUALS, "--zone", "Moon/Base"), "There is no time zone"),
        ((FLOW, *INDIVIDUALS, "--wrong"), "--wrong"),
        ((FLOW, "--chart", "xbar-r"), "--size or --group"),
        ((FLOW, "--chart", "xbar-r", "--size", "1"), "at least 2 readings"),
        ((GEAR, "--chart", "xbar-r", "--size", "5", "--group", "BATCH"), "give one of them"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_wrong_call_gets_one_sentence(ask, args, words):
    code, out, err = ask(*args)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert words in err


def test_an_unreadable_number_in_line_17_is_named_and_the_rest_is_charted(answer, written):
    lines = [f"{n};{'3x4,9' if n == 16 else f'34,{90 + n % 5}'}" for n in range(1, 25)]
    code, found = answer(written("n;shell width [mm]\n" + "\n".join(lines)), *INDIVIDUALS)
    assert (code, found["column"], found["unit"], found["n"], found["missing"]) == (0, "shell width", "mm", 23, 1)
    assert [(p["line"], p["kind"]) for p in found["problems"]] == [(17, "not-a-number")]
    assert found["charts"][0]["points"][15] == {"at": "16", "value": None, "signals": []}


def test_a_number_too_large_for_any_gauge_is_named_and_the_rest_is_charted(answer, written):
    cells = ["1.7e308" if n == 4 else "-1.7e308" if n == 7 else f"5.{n % 3}" for n in range(1, 10)]
    code, found = answer(written("\n".join(["w", *cells])), *INDIVIDUALS)
    assert (code, found["n"], found["missing"]) == (0, 7, 2)
    assert [(p["line"], p["kind"]) for p in found["problems"]] == [(5, "not-a-number"), (8, "not-a-number")]


def test_serials_name_the_points_unchanged(answer, written):
    _, found = answer(written("serial,width\n000417,34.9\n12E4,34.8\n1E1000,34.7\n"), *INDIVIDUALS)
    assert [point["at"] for point in found["charts"][0]["points"]] == ["000417", "12E4", "1E1000"]


def test_from_the_shell_it_needs_no_database():
    """The address names a database that isn't there."""
    manage = Path(__file__).parents[3] / "manage.py"
    there_is_none = os.environ | {"DATABASE_URL": "sqlite:////nowhere/at/all.sqlite3"}
    run = subprocess.run(
        [sys.executable, str(manage), "spc", FLOW, *INDIVIDUALS, "--upper", "53.5", "--json"],
        env=there_is_none, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (run.returncode, run.stderr) == (1, "")
    assert json.loads(run.stdout)["n"] == 10
