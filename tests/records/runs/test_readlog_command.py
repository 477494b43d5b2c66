"""The command ``readlog``: stable keys, exit codes, one sentence without an answer. It is never given a database."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.records.runs.files import LOGS

BASE = Path(__file__).parents[3]
SHORT_ROWS = str(LOGS / "r02_five_sensors_short_rows.csv")
FACTS = ("file", "sha256", "rows", "rows_set_aside", "events", "first", "last", "zone", "encoding", "delimiter")
KEYS = {"command", *FACTS, "decimal", "header_line", "channels", "problems"}


def readlog(*words):
    surroundings = os.environ | {"DATABASE_URL": "sqlite:////nowhere/none.sqlite3"}
    command = [sys.executable, "manage.py", "readlog", *words]
    return subprocess.run(command, cwd=BASE, env=surroundings, capture_output=True, text=True, check=False)


def test_one_json_object_is_printed_and_nothing_else():
    answered = readlog(SHORT_ROWS, "--json")
    answer = json.loads(answered.stdout)
    assert (answered.returncode, answered.stderr) == (0, "")
    assert set(answer) >= KEYS
    assert (answer["command"], answer["rows"], answer["rows_set_aside"]) == ("readlog", 3056, 16)
    assert answer["problems"][0] == {
        "line": 3,
        "kind": "short-row",
        "words": "Line 3 has 5 fields where 6 are due. It was set aside.",
    }


def test_the_digest_is_that_of_the_file():
    answer = json.loads(readlog(SHORT_ROWS, "--json").stdout)
    known = subprocess.run(["sha256sum", SHORT_ROWS], capture_output=True, text=True, check=True).stdout.split()[0]
    assert answer["sha256"] == known


def test_without_json_the_same_facts_are_a_table():
    answered = readlog(SHORT_ROWS, "--column", "Sensor 2")
    assert answered.returncode == 0
    assert "Sensor 2" in answered.stdout
    assert "Sensor 1" not in answered.stdout
    assert "short-row" in answered.stdout


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ([], "FILE"),
        (["nowhere.csv"], "no file nowhere.csv"),
        ([str(LOGS)], "is a folder"),
        ([SHORT_ROWS, "--zone", "Mars/Base"], "no zone Mars/Base"),
        ([SHORT_ROWS, "--column", "S9"], "has no channel S9"),
        ([SHORT_ROWS, "--jso"], "--jso"),
        ([sys.executable], "no recorder file"),
    ],
)
def test_without_an_answer_there_is_one_sentence_and_exit_2(words, sentence):
    answered = readlog(*words)
    assert (answered.returncode, answered.stdout) == (2, "")
    assert sentence in answered.stderr
    assert answered.stderr.count("\n") == 1
