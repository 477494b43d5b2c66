"""What holds for every act of the program, whatever its rules: entry, repeat, conflict, failure, right."""

import ast
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from django.apps import apps
from django.db import connection, models

from plant.people.rights import RIGHTS, Role
from records.items import locking
from records.items.models import ItemState
from records.ledger import acts
from records.ledger.models import Entry, EntryBody, Unplaced
from records.ledger.patterns import Fact, State
from records.ledger.refusals import Conflict, Refused
from records.ledger.verifying import verify
from tests import builders, engines, sources
from tests.builders import a_person, said
from tests.exercises import EXERCISES

pytestmark = pytest.mark.django_db
# The door of the book itself, what the program notes by itself and the opening of a works have tests of their own.
OWN = {"works opened", "entry unplaced", "difference noted", "damage reported"}
each = pytest.mark.parametrize("exercise", EXERCISES, ids=lambda exercise: exercise.name)


@pytest.fixture
def works():
    builders.a_works()


def named_kinds():
    """Kinds of act that the code names, by place: ``act("...")`` itself, and functions that hand a kind on to it."""
    found = {}
    for path in sources.files(".py", below=("plant", "records")):
        tree = ast.parse(path.read_text())
        imported = {name.name for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) for name in node.names}
        for node in ast.walk(tree) if "act" in imported or path.name == "acts.py" else ():
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("act", "_decide"):
                kind = node.args[0]
                found[f"{path}:{node.lineno}"] = kind.value if isinstance(kind, ast.Constant) else ast.unparse(kind)
    return found


def test_every_kind_of_act_has_its_line_in_the_table_of_rights():
    kinds = {where: kind for where, kind in named_kinds().items() if kind != "kind"}
    assert len(kinds) > 40
    assert {where: kind for where, kind in kinds.items() if kind not in RIGHTS} == {}


def test_every_kind_of_act_is_exercised_here():
    assert set(named_kinds().values()) - {"kind"} - OWN == {exercise.kind for exercise in EXERCISES}


def stored():
    """Every row of every table, those of the framework apart."""
    rooms = [m for m in apps.get_models() if issubclass(m, Fact | State | Entry | EntryBody | Unplaced)]
    filled = engines.filled_tables(connection)  # most tables are empty, and to ask each of them takes longer
    return {
        m._meta.db_table: list(m._base_manager.order_by("pk").values()) for m in rooms if m._meta.db_table in filled
    }


def shown(answer):
    """An answer as it can be compared: rows by their table and number."""
    if isinstance(answer, list | tuple):
        return sorted(map(shown, answer))
    return (type(answer).__name__, answer.pk) if isinstance(answer, models.Model) else answer


@pytest.fixture
def locked(monkeypatch) -> Callable[[], list[int]]:
    """Numbers of the items that are locked from now on, in the order in which they are."""
    numbers: list[int] = []

    def begin() -> list[int]:
        real = locking.instances
        monkeypatch.setattr(locking, "instances", lambda row, into: [_noted(numbers, one) for one in real(row, into)])
        return numbers

    return begin


def _noted(numbers: list[int], state: ItemState) -> ItemState:
    numbers.append(state.pk)
    return state


@each
def test_it_leaves_its_entry_with_its_rows_and_a_repeat_changes_nothing(works, exercise, locked):
    act, told = exercise.ready(), said(6)
    there = set(ItemState.objects.values_list("pk", flat=True))
    numbers = locked()
    first = shown(act(told))
    of_others = [number for number in dict.fromkeys(numbers) if number in there]
    assert of_others == sorted(of_others)  # of two acts at once the second waits: none lock in a circle
    entry = Entry.objects.get(key=told.key)
    payload = json.loads(EntryBody.objects.get(entry=entry).payload)
    assert (entry.kind, entry.by, entry.happened_at) == (exercise.kind, told.by, told.at)
    assert payload["rows"]
    assert verify().faults == ()
    before = stored()
    assert shown(act(told)) == first
    assert stored() == before
    with pytest.raises(Conflict) as refused:
        act(replace(told, at=told.at + timedelta(seconds=1)))
    assert refused.value.code == "conflict"
    assert Unplaced.objects.filter(said_key=told.key).count() == 1


@each
def test_a_failure_or_a_missing_right_leaves_nothing_and_who_may_does_it(works, exercise):
    act, before = exercise.ready(), stored()
    others = [role for role in Role.values if role not in RIGHTS[exercise.kind]]
    for badge in [*others, "visitor"]:
        with pytest.raises(Refused) as refused:
            act(said(6, by=badge))
        assert refused.value.code == "not-allowed"
        assert "Ask your lead" in str(refused.value)
    told = said(6, by=a_person(sorted(RIGHTS[exercise.kind])[-1]))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(acts, "write_payload", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            act(told)
    assert stored() == before
    act(told)
    assert Entry.objects.filter(key=told.key, kind=exercise.kind).exists()
