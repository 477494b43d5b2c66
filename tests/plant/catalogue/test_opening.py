"""An empty works is opened from a file by one act; what is wrong in the file is told by its place."""

import json

import pytest
from django.core.management import call_command

from plant.catalogue.opening_file import opening_of
from plant.people.models import Person, Works
from records.ledger.commands import CannotAnswer
from records.ledger.models import Entry
from records.ledger.refusals import Refused

OPENING = {
    "name": "Tarnside Works",
    "zone": "Europe/London",
    "people": [{"badge": "nell", "name": "Nell", "roles": ["manager"], "password": "a long enough one"}],
    "stations": [{"code": "PRESS-1", "kind": "press"}],
    "gauges": [{"code": "GA-1", "unit_kind": "length", "due_on": "2026-12-31"}],
    "parts": [{"number": "OSIER-F", "kind": "front"}],
    "routes": [{"part": "OSIER-F", "operations": [{"name": "mould", "readings": [{"name": "edge", "unit": "mm"}]}]}],
    "rulebook": {"cut_off": "", "holds": {"held": 1}},
}


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "opening.json"
    path.write_text(json.dumps(OPENING))
    return path


@pytest.mark.django_db
def test_a_works_is_opened_once_and_its_manager_may_sign(file, capsys):
    call_command("openworks", str(file), "--json")
    assert json.loads(capsys.readouterr().out) == {
        "works": "Tarnside Works",
        "code": "TW",
        "zone": "Europe/London",
        "people": 1,
        "stations": 1,
        "parts": 1,
        "routes": 1,
        "recipes": 0,
    }
    assert Person.objects.get(badge="nell").check_password("a long enough one")
    with pytest.raises(CannotAnswer, match="open in this database already"):
        call_command("openworks", str(file))
    assert (Works.objects.count(), Entry.objects.count()) == (1, 1)


@pytest.mark.django_db
@pytest.mark.parametrize("text", ["", "{", '["a"]', '{"name": "x"}'])
def test_a_file_that_is_no_opening_is_one_sentence_and_opens_nothing(tmp_path, text):
    (tmp_path / "bad.json").write_text(text)
    with pytest.raises(CannotAnswer):
        call_command("openworks", str(tmp_path / "bad.json"))
    assert not Works.objects.exists()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"colour": "red"}, "colour is no field"),
        ({"zone": 1}, "zone must be text"),
        ({"people": {}}, "people must be a list"),
        ({"people": [{"name": "Nell"}]}, "people[1].badge is missing"),
        ({"people": [{"badge": "nell", "roles": ["lead"]}]}, "at least one person with the role manager"),
        ({"gauges": [{"code": "GA-1", "due_on": "soon"}]}, "gauges[1].due_on must be a day"),
        ({"tools": [{"code": "M", "kind": "mould", "cycles_allowed": True}]}, "cycles_allowed must be a whole number"),
        ({"rulebook": {"holds": {"held": "yes"}}}, "rulebook.holds.held must be a whole number"),
        (
            {"routes": [{"part": "X", "operations": [{"name": "a", "makes_safe": 1}]}]},
            "makes_safe must be true or false",
        ),
    ],
)
def test_what_is_wrong_is_told_by_its_place(change, words):
    with pytest.raises(Refused) as refused:
        opening_of(OPENING | change)
    assert words in str(refused.value)
