"""The invented works shows what a real one would be asked for: cautions where something can hurt, and what is read."""

import pytest

from plant.catalogue.cautions import CAUTIONS, EVERYWHERE, caution_words
from plant.catalogue.models import Operation, OperationReading
from records.floor.tasks import CAUTIONS_OF_TASKS, TASKS, make_task, readings_of, step_of
from tests import demo

pytestmark = pytest.mark.django_db
# Words that each kind of work must warn of, by the operation at which it is done. Common practice, no source.
WARNS = {
    "wind": ("fibre", "mandrel", "allergy"),
    "set": ("lamp", "eyes"),
    "preform out": ("fibre",),
    "mould": ("hot mould", "pressure"),
    "leak test": ("vacuum",),
    "bladder hold": ("Pressurised gas",),
    "fill": ("spray", "hot mould"),
    "start cure": ("hot mould",),
    "end cure": ("hot mould",),
    "vent": ("vent to zero",),
    "demould": ("Knife",),
    "drill": ("dust",),
    "deburr": ("dust",),
    "prepare": ("dust", "Solvents"),
    "bond": ("Solvents", "adhesive"),
    "set bond": ("sensor",),
    "polish": ("Guard on", "dust"),
}
HARMLESS = {"final", "weigh"}


@pytest.fixture(autouse=True)
def works():
    demo.a_shift_begins()


def test_each_operation_of_the_works_warns_of_what_can_hurt_there():
    operations = {operation.name: operation for operation in Operation.objects.all()}
    assert set(operations) - HARMLESS == set(WARNS)
    for name, words in WARNS.items():
        shown = caution_words(operations[name].caution)
        assert all(word in shown for word in words), (name, shown)


@pytest.mark.parametrize("kind", ["mix", "tank-charge", "tank-draw", "tank-clean", "send-out"])
def test_tasks_with_resin_solvent_or_paint_warn_too(kind):
    (task,) = {id(task): task for task in TASKS.values() if task.kind == kind}.values()
    assert caution_words(task.caution) == caution_words(CAUTIONS_OF_TASKS[kind]) != ""


def test_every_caution_is_known_and_defers_to_data_sheet_rules_and_law():
    told = [one for operation in Operation.objects.all() for one in operation.caution.split(",") if one]
    assert set(told) <= set(CAUTIONS)
    assert all(word in EVERYWHERE for word in ("data sheet", "rules", "law"))
    assert "Cold burns" in CAUTIONS["freezer"]


def test_the_routes_ask_for_what_is_read():
    asked = set(OperationReading.objects.values_list("operation__name", "name"))
    assert asked >= {
        ("wind", "programme"),
        ("set", "uv-passes"),
        ("preform out", "tension"),
        ("preform out", "splices"),
        ("preform out", "mass"),
        ("drill", "programme"),
        ("set bond", "bond-line"),
        ("set bond", "heater"),
        ("weigh", "mass"),
    }


def test_words_are_asked_without_a_unit_and_told_as_they_stand():
    operation = Operation.objects.filter(name="drill").latest("pk")
    task = step_of(operation, readings_of(operation))
    (question,) = [one for one in task.asks({"tool": ""}) if one.name == "reading-1"]
    assert (question.unit, question.kind) == ("", "text")
    told = task.tells({"reading-1": "SHELL rev B"}, "ST")
    assert told["readings"] == [{"name": "programme", "value": "SHELL rev B", "unit": ""}]


def test_winding_asks_for_its_mandrel_lots_and_programme():
    asked = [piece.data().get("piece") for piece in make_task("TUBE").pieces]
    assert asked == ["one", "lots", "numbers", "one"]
