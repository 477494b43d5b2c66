"""The command ``assess``: exit 0 within or near the edge, 1 outside or not shown, 2 with one sentence; it only asks."""

import json

import pytest

from plant.catalogue import specs
from records.ledger.models import Entry
from records.runs.management.commands.assess import Command
from tests import builders
from tests.records.runs.files import ramp_and_soak, stamps, written

pytestmark = pytest.mark.django_db
HEAD = "Time,TC1 (°C),TC2 (°C)"
CHECK = {"rule", "got", "lower", "upper", "unit", "verdict", "from", "to", "words"}
KEYS = {"command", "file", "sha256", "recipe", "revision", "verdict", "phases", "checks", "cautions", "problems"}


@pytest.fixture(autouse=True)
def works(db, monkeypatch):
    """A recipe of two revisions. A command closes its connections when it ends; the test still needs its own."""
    monkeypatch.setattr("records.ledger.commands.connections.close_all", lambda: None)
    builders.a_works(holds={})
    soak = specs.RuleSpec("soak-coldest", "min", level="75", level_unit="degC", lower="60")
    builders.agreed(specs.RecipeSpec("CURE-S", "cure", [soak]))


@pytest.fixture
def assess(tmp_path, capsys):
    """Exit code, answer and stderr for a curve written to a file."""

    def ask(curve, *argv, head=HEAD):
        file = tmp_path / "press1.csv"
        columns = [curve] * head.count(",")
        file.write_text(written(head, stamps(len(curve), day="2026-03-02"), *columns))
        code = 0
        try:
            Command().run_from_argv(["manage.py", "assess", str(file), "--json", *argv])
        except SystemExit as left:
            code = int(left.code or 0)
        printed = capsys.readouterr()
        return code, json.loads(printed.out) if printed.out else None, printed.err

    return ask


def test_within_is_0_outside_and_not_shown_are_1_and_nothing_is_written(assess):
    before = Entry.objects.count()
    for curve, code, verdict in (
        (ramp_and_soak(), 0, "within"),
        (ramp_and_soak(soak_min=56), 0, "near-edge"),
        (ramp_and_soak(soak_min=20), 1, "outside"),
        (ramp_and_soak()[:40], 1, "not-shown"),
    ):
        found, answer, err = assess(curve, "--recipe", "cure-s", "--zone", "Europe/London")
        assert (found, answer["verdict"], err) == (code, verdict, "")
        assert set(answer) == KEYS
        assert set(answer["checks"][0]) == CHECK
        assert (answer["checks"][0]["got"] is None) == (verdict == "not-shown")
    assert Entry.objects.count() == before


def test_times_of_phases_and_checks_are_told_in_the_zone(assess):
    _, answer, _ = assess(ramp_and_soak(), "--recipe", "CURE-S", "--zone", "Europe/Berlin")
    soak = next(phase for phase in answer["phases"] if phase["name"] == "soak")
    # Up from 20 at 2 degC a minute: 75 is reached after 27.5 minutes.
    assert soak["from"] == answer["checks"][0]["from"] == "2026-03-02T09:27:30+01:00"


def test_parts_may_be_named_and_a_revision_too(assess):
    _, unknown, _ = assess(ramp_and_soak(), "--recipe", "CURE-S", head="Time,Sensor 1,Sensor 2")
    assert unknown["verdict"] == "not-shown"
    named = ("--column", "probe=Sensor 1 [degC]", "--column", "probe=Sensor 2 [degC]", "--revision", "1")
    code, answer, _ = assess(ramp_and_soak(), "--recipe", "CURE-S", *named, head="Time,Sensor 1,Sensor 2")
    assert (code, answer["revision"]) == (0, "1")


def test_without_an_answer_there_is_one_sentence_and_exit_2(assess):
    for argv, words in (
        (("--recipe", "CURE-X"), "No recipe CURE-X is in force"),
        (("--recipe", "CURE-S", "--revision", "9"), "No recipe CURE-S"),
        (("--recipe", "CURE-S", "--run", "RN-9"), "No run RN-9 is on file"),
        (("--recipe", "CURE-S", "--zone", "Mars"), "There is no zone Mars"),
        (("--recipe", "CURE-S", "--column", "probe"), "ROLE=NAME"),
        (("--recipe", "CURE-S", "--column", "oven=TC1"), "There is no role oven"),
        (("--recipe", "CURE-S", "--column", "probe=TC9"), "has no channel TC9"),
        ((), "--recipe"),
    ):
        code, answer, err = assess(ramp_and_soak(), *argv)
        assert (code, answer, err.count("\n")) == (2, None, 1)
        assert words in err
