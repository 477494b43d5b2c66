"""Each bench runs on a tiny size and prints its rows; what it finds there says nothing about speed.

They are asked on the engine whose figures are told; the first step in the browser has none of its own.
"""

import json

import pytest

from tests.bench.measuring import Row, row_of_pairs
from tests.bench.running import BENCHES, NAMES, ON_THE_PLANT, as_json, as_table, chosen, measured, together

ON = {"first_step": pytest.mark.sqlite}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("name", [pytest.param(name, marks=ON.get(name, pytest.mark.postgresql)) for name in BENCHES])
def test_a_bench_runs_and_prints_its_rows(name):
    rows = measured(name, tiny=True)
    assert_told(rows)


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
def test_the_benches_of_the_plant_run_and_print_their_rows():
    for name in ON_THE_PLANT:
        assert_told(measured(name, tiny=True))


def assert_told(rows):
    assert rows
    table, told = as_table(rows), json.loads(as_json(rows))
    for row, one in zip(rows, told, strict=True):
        assert row.name in table
        assert set(one) == {"name", "ours", "baseline", "unit", "ratio", "bar", "verdict"}
        assert one["baseline"] > 0
        assert one["verdict"] in ("holds", "falls short")


def test_a_bar_is_met_or_not():
    assert [Row("", 1, 1, "s", ratio, "<= 6").verdict for ratio in (5.9, 6, 6.1)] == ["holds", "holds", "falls short"]
    assert [Row("", 1, 1, "s", ratio, ">= 0.7").verdict for ratio in (0.69, 0.7)] == ["falls short", "holds"]


def test_the_ratio_is_the_median_of_the_ratios_of_each_repetition():
    row = row_of_pairs("", [(1, 2), (3, 2), (10, 100)], "s", "<= 1")
    assert (row.ours, row.baseline, row.ratio) == (3, 2, 0.5)


def test_benches_are_asked_for_by_name():
    assert chosen([]).names == list(NAMES)
    assert chosen(["--only", "act", "--json"]).names == ["act"]
    assert together(["act", "page", "verify", "asknown"]) == [["act"], ["verify"], ["page", "asknown"]]
