"""What a tablet takes along: who may log, what waits, the tasks as data; its cost does not grow with the works."""

import gzip
import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import translation

from plant.catalogue.specs import OperationSpec, RouteSpec
from plant.people.models import Person
from plant.quantities import read_quantity
from plant.served import lean
from records.floor.asking import Question
from records.floor.sitting import check_sitting
from records.floor.tablet import PLAIN, shell_files, shell_page, shell_version
from records.floor.tasks import TASKS, make_task, measure_task, step_task
from records.inspection.actions import Line, record_sheet
from records.items.actions import place_hold, release_at_risk, split_lot
from records.ledger.canonical import time_text
from records.ledger.clock import clock
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
ADDRESS = "/floor/snapshot/?device=TB-1"


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def taken(role: str = builders.ALL_ROLES) -> dict:
    return tablet(role).get(ADDRESS).json()


def test_a_unit_comes_with_its_next_step_what_is_done_and_what_holds_it():
    builders.a_front("F1")
    place_hold("F1", reason="doubt", words="wet label", said=builders.said(2))
    (unit,) = [unit for unit in taken()["units"] if unit["code"] == "F1"]
    assert (unit["next"], unit["done"]) == ("vent", ["mould"])
    assert [hold["reason"] for hold in unit["holds"]] == ["a doubt about the record"]
    assert "wet label" not in json.dumps(taken())  # free words may name a person; they stay where they can be erased


def test_a_step_is_data_with_its_band_as_the_server_asks_it():
    builders.a_front("F1")
    snapshot = taken()
    (unit,) = [unit for unit in snapshot["units"] if unit["code"] == "F1"]
    trim = next(step for step in snapshot["routes"][str(unit["route"])] if step["operation"] == "trim")
    (piece,) = trim["pieces"]
    (question,) = piece["questions"]
    (asked,) = step_task("F1", "trim").asks({})
    assert (question["name"], question["asks"], question["hint"]) == (asked.name, asked.asks, asked.hint)
    assert (question["band"]["low"], question["band"]["high"], question["unit"]) == ("1", "3", "mm")


def test_a_lot_at_risk_travels_as_over_once_its_time_or_its_amount_is_used_up_and_each_with_its_end():
    for code, limit, hours in (("R7", "1 kg", 99), ("R8", "1 kg", 1), ("R9", "1 g", 99)):
        builders.a_delivery(code, expires=date(2026, 4, 1))
        told = {"limit": read_quantity(limit), "until": builders.moment(hours)}
        release_at_risk(code, words="late", **told, said=builders.said(0))
    split_lot("R9", [builders.of("S9", "1 g")], said=builders.said(0.5))
    lots = {lot["code"]: (lot["state"], lot["end"]) for lot in taken()["lots"]}
    assert [lots[code][0] for code in ("R7", "R8", "R9")] == ["risk", "over", "over"]
    assert lots["R7"][1] == "2026-04-01"


def test_every_task_has_pieces_that_travel():
    snapshot = taken()
    assert set(snapshot["tasks"]) == set(TASKS)
    assert set(snapshot["makes"]) == {"TUBE", "OSIER-F", "OSIER-R", "OSIER", "SEDGE"}
    assert all(task["pieces"] for task in snapshot["tasks"].values())
    for number in snapshot["makes"]:
        first = next(iter(make_task(number).asks({})))
        assert isinstance(first, Question)
        assert snapshot["makes"][number]["pieces"][0]


def test_a_sheet_is_asked_on_the_floor_and_told_as_lines():
    builders.a_front("F1")
    task = measure_task("F1")
    told = {"gauge-1": "GA-1", "value-1-1": "34.9"}
    assert [question.name for question in task.asks(told)][:2] == ["gauge-1", "value-1-1"]
    line = {"characteristic": "bore", "readings": ["34.9"], "gauge": "GA-1", "reason": ""}
    assert task.tells(told, "MOULD-1")["lines"][0] == line


def test_people_come_with_the_acts_that_their_roles_may_do():
    acts = {person["badge"]: person["acts"] for person in taken()["people"]}
    assert "step done" in acts["operator"]
    assert acts["auditor"] == []


def test_whoever_takes_it_along_sits_at_the_tablet_from_then_on():
    snapshot = taken("operator")
    assert snapshot["you"]["badge"] == "operator"
    check_sitting(snapshot["sitting"], Person.objects.get(badge="operator"), "TB-1", builders.moment(6))


def test_a_unit_comes_with_what_is_measured_on_it_and_until_when_it_may_be_joined():
    steps = [OperationSpec("mould", measures=["bore"]), OperationSpec("prepare", good_for_min=60)]
    builders.agreed(RouteSpec("OSIER-F", steps))
    builders.a_front("F1")
    record_sheet("F1", [Line("bore", ["34.9"], "")], said=builders.said(3))
    builders.a_step("F1", "prepare", hours=4.5)
    snapshot = taken()
    (unit,) = [unit for unit in snapshot["units"] if unit["code"] == "F1"]
    assert (unit["next"], unit["measured"]) == ("", ["bore"])
    assert unit["ready"] == {"until": time_text(builders.moment(5.5)), "good": True}
    assert [step.get("measures") for step in snapshot["routes"][str(unit["route"])]] == [["bore"], None]
    assert snapshot["reasons"]["measured-outside"] == "a measure outside its band"


def test_the_revision_changes_when_something_does_and_only_then():
    builders.a_front("F1")
    first = taken()
    assert taken()["revision"] == first["revision"]
    place_hold("F1", reason="doubt", said=builders.said(2))
    assert taken()["revision"] != first["revision"]


def test_it_costs_the_same_with_3_and_with_30_units():
    builders.a_pot("P1", grams=10_000, hours=2)
    builders.a_spool("SP1", quantity="2 kg")  # enough that it stays on the shelf
    client = tablet()

    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(ADDRESS).status_code == 200
        return len(queries)

    def more(start: int, stop: int) -> None:
        for n in range(start, stop):
            builders.a_front(f"F{n}", hours=2, pots=["P1"])
            place_hold(f"F{n}", reason="doubt", said=builders.said(6))

    with clock.at(builders.moment(20) + timedelta(hours=1)):
        more(0, 3)
        few = cost()
        more(3, 30)
        assert cost() == few


def test_the_shell_of_the_floor_is_under_200_kb_compressed(works, client):
    client.force_login(builders.a_person())
    asked = [path for path in shell_files()[1:] if path.startswith("/floor/")]
    paths = [path.removeprefix("/static/") for path in shell_files()[1:] if path not in asked]
    files = [lean(path, Path(finders.find(path)).read_bytes()) for path in paths]
    files += [client.get(path).content for path in asked]
    sizes = [len(gzip.compress(content)) for content in [shell_page().encode(), *files]]
    assert len(sizes) > len(PLAIN) + 5
    assert sum(sizes) < 200_000


def test_every_module_that_the_shell_imports_is_kept_by_the_worker():
    kept = {path.rsplit("/", 1)[1] for path in PLAIN if path.endswith(".js")} | {"tablet.js", "camera.js"}
    folder = finders.find("floor/tablet.js").rsplit("/", 1)[0]
    for name in kept:
        with open(f"{folder}/{name}", encoding="utf-8") as module:
            imported = {line.split('"./')[1].split('"')[0] for line in module if 'from "./' in line}
        assert imported <= kept, name


@pytest.mark.parametrize("language", ["en", "de", "it"])
def test_the_version_of_the_shell_is_the_same_whoever_asks_first(language):
    """Each process of the server works it out at its first page; two of them may not disagree."""
    shell_version.cache_clear()
    with translation.override("en"):
        expected = shell_version()
    shell_version.cache_clear()
    with translation.override(language):
        assert shell_version() == expected


def test_the_worker_names_what_it_keeps_and_a_version():
    answer = tablet().get("/floor/worker.js")
    assert answer["Content-Type"].startswith("text/javascript")
    assert "const VERSION = " in answer.content.decode()
    assert '"/floor/shell/"' in answer.content.decode()
