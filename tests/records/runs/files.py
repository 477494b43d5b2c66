"""Recorder files that the tests of reading and judging are held against, and curves built for one test each."""

import json
from pathlib import Path

import numpy as np

from records.runs.reading import read_log

TESTS = Path(__file__).parents[2]
LOGS = TESTS / "data" / "logs"
PROCESS = TESTS / "reference" / "process"
EXPECTED = json.loads((TESTS / "data" / "expected.json").read_text())
EXAMPLES = {example["id"]: example for example in json.loads((PROCESS / "examples.json").read_text())}


def log_of(name, **asked):
    """A file of the data folder, read."""
    return read_log((LOGS / name).read_bytes(), name=name, **asked)


def example_log(name):
    """A file of the worked examples, read."""
    return read_log((PROCESS / name).read_bytes(), name=name)


def text_log(text, **asked):
    """A file of these lines, read."""
    return read_log(text.encode(), **{"name": "log.csv"} | asked)


def kinds_of(log):
    """Line and kind of everything wrong with a file."""
    return [(problem.line, problem.kind.value) for problem in log.problems]


def stamps(minutes, *, step_s=60, day="2026-11-24", hour=9):
    """Stamps of so many minutes of a run."""
    start = np.datetime64(f"{day}T{hour:02d}:00:00")
    return [str(start + np.timedelta64(n * step_s, "s")) for n in range(minutes)]


def written(heading, *columns):
    """A file with a heading and columns of values; None is an empty cell."""
    rows = (",".join("" if cell is None else str(cell) for cell in row) for row in zip(*columns, strict=True))
    return "\n".join([heading, *rows, ""])


def ramp_and_soak(*, soak=80.0, soak_min=70, rate=2.0, start=20.0, offset=0.0):
    """Temperatures minute by minute: up to the soak, the soak, down again. [degC]"""
    up = [start + rate * n for n in range(int((soak - start) / rate))]
    return [round(t + offset, 2) for t in [*up, *[soak] * (soak_min + 1), *reversed(up)]]
