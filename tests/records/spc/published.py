"""Published values and data files that the tests of sums are held against."""

import csv
import json
from pathlib import Path

TESTS = Path(__file__).parents[2]
REFERENCE = TESTS / "reference" / "spc"
MEASUREMENTS = TESTS / "data" / "measurements"


def rows(name):
    """Rows of a published table or data set."""
    with open(REFERENCE / f"{name}.csv", newline="") as file:
        return list(csv.DictReader(file))


def expected(name):
    """What must come out of a data set: name to value and tolerance."""
    return json.loads((REFERENCE / f"{name}.expected.json").read_text())["expected"]


def numbers(name, *columns):
    """Columns of a data set as rows of numbers, None where a cell is empty."""
    return [[float(row[c]) if row[c] else None for c in columns] for row in rows(name)]


def is_as_published(value, told):
    """Whether a value is within the tolerance that stands beside the published one."""
    return abs(value - told["value"]) <= told["tol"]


def flowrates():
    """Ten flow rates of NIST/SEMATECH e-Handbook 6.3.2.2."""
    return [row[0] for row in numbers("02_imr_nist_6322", "flowrate")]


def rings():
    """25 subgroups of 5 inside diameters, Montgomery, Table 6.3."""
    return numbers("02_piston_rings_25x5", "x1", "x2", "x3", "x4", "x5")


def measured(name):
    """What a correct reading of a data file gives."""
    return json.loads((MEASUREMENTS / "expected.json").read_text())[name]


def colours():
    """100 whole-number colours of rubber batches."""
    return [float(line) for line in (MEASUREMENTS / "m05_integer_colour.csv").read_text().split()[1:]]
