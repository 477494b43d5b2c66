"""The floor speaks the language of the badge; what is kept does not depend on it."""

import ast
import json

import pytest
from django.urls import reverse
from django.utils import translation

from plant.equipment.models import Station
from plant.people.actions import set_language
from plant.people.models import BadgeChange
from plant.speaking import in_language, spoken
from records.floor.many import FEWEST_WAITING, many_offered
from records.floor.models import Call
from records.floor.queries import waiting_here
from records.floor.snapshot import snapshot_for
from records.ledger.refusals import Refused
from tests import builders, sources
from tests.builders import a_person, a_works, said
from tests.records.floor.told import entry, send, tablet


@pytest.fixture
def works(db):
    return a_works()


def test_a_language_is_an_act_and_only_one_that_the_floor_speaks(works):
    person = a_person()
    change = set_language(person, "de", said=said(by=person))
    assert (change.what, a_person().language) == (BadgeChange.What.LANGUAGE, "de")
    with pytest.raises(Refused) as refused:
        set_language(person, "fr", said=said(by=person))
    assert refused.value.code == "unknown"


def test_pages_of_the_floor_say_in_which_language_they_are_and_the_desk_stays_english(works, client):
    person = a_person()
    set_language(person, "it", said=said(by=person))
    client.force_login(a_person())
    assert '<html lang="it"' in client.get(reverse("floor:station_list")).text
    assert '<html lang="en"' in client.get(reverse("home")).text


@pytest.mark.parametrize(
    ("words", "by_language"),
    [
        ("59.4 °C is 0.6 °C above the band", "59,4 °C is 0,6 °C above the band"),
        ("TW-26-000396-8 at 14:31", "TW-26-000396-8 at 14:31"),
        ("Write it as 2026-11-24T14:31.", "Write it as 2026-11-24T14:31."),
        ("revision 1.2.3 stays", "revision 1.2.3 stays"),
    ],
)
def test_numbers_take_the_decimal_mark_of_the_language(words, by_language):
    assert spoken(words) == words
    with translation.override("de"):
        assert spoken(words) == by_language


def test_a_refusal_is_told_in_the_language_in_use_and_keeps_its_english_words():
    refused = Refused("x", "%(read)s mm is too much.", read="73.04")
    with translation.override("it"):
        assert str(refused) == "73,04 mm is too much."
        assert in_language("", {}) == ""
    assert (str(refused), refused.words) == ("73.04 mm is too much.", "%(read)s mm is too much.")


def test_a_tablet_takes_along_the_languages_of_those_who_may_sign(works):
    person = a_person()
    assert snapshot_for(person, "t")["spoken"] == {}
    set_language(person, "de", said=said(by=person))
    taken = snapshot_for(a_person(), "t")
    assert set(taken["spoken"]) == {"de"}
    assert set(taken["spoken"]["de"]) < set(taken)
    assert next(one for one in taken["people"] if one["badge"] == person.badge)["language"] == "de"
    json.dumps(taken)


def test_the_words_of_the_scripts_are_there_in_each_language_and_in_no_other(works, client):
    client.force_login(a_person())
    told = client.get(reverse("floor:words")).json()
    assert set(told) == {"sentences", "de", "it"}
    assert len(told["sentences"]) == len(told["de"]) == len(told["it"]) > 200
    assert told["de"][told["sentences"].index("1 stays here")] == "1 bleibt hier"


def test_what_an_entry_is_answered_is_said_in_the_language_of_whoever_sends_it(works, clock_at):
    clock_at(builders.moment(5))
    set_language(a_person(), "de", said=said(by=a_person()))
    (answer,) = send(tablet(), entry("move", item="NO-SUCH", station="TRIM-1"))
    assert answer["words"] == "Diesen Code gibt es hier nicht: NO-SUCH. Nochmals nachsehen, oder eintippen."


def test_the_answers_to_a_call_are_said_in_the_language_of_the_lead(works, client, clock_at):
    clock_at(builders.moment(5))
    send(tablet(), entry("call", station="MOULD-1", about=""))
    set_language(a_person(), "de", said=said(by=a_person()))
    client.force_login(a_person())
    page = client.get(reverse("floor:call_answer", args=[Call.objects.get().entry.key])).text
    assert "Ich bin unterwegs." in page
    assert page.count("Mit eigenen Worten") == 2  # the field, and the key


def said_at_import(node, names):
    """Calls that a module makes as it is imported, whoever it speaks to later."""
    for inner in ast.iter_child_nodes(node):
        if isinstance(inner, ast.FunctionDef | ast.Lambda):
            continue
        if isinstance(inner, ast.Call) and getattr(inner.func, "id", "") in names:
            yield ast.unparse(inner)
        yield from said_at_import(inner, names)


def test_nothing_is_said_once_for_everybody_as_a_module_is_imported():
    found = []
    for path in sorted([*sources.BASE.glob("plant/**/*.py"), *sources.BASE.glob("records/**/*.py")]):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        imports = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
        spoken_by = [one for node in imports for one in node.names if one.name in ("gettext", "say")]
        found += said_at_import(tree, {one.asname or one.name for one in spoken_by})
    assert found == []


def test_a_step_of_several_at_once_is_named_in_the_language_of_the_badge(works):
    builders.a_route("OSIER-F", ["mould", "demould"])
    for n in range(FEWEST_WAITING):
        builders.a_front(f"F{n}")
    waiting = waiting_here(Station.objects.get(code="MOULD-1"))
    with translation.override("de"):
        (words,) = [words for name, _, words in many_offered(lambda act: act == "step done", waiting)]
    assert words == "Entformen, mehrere zugleich"
