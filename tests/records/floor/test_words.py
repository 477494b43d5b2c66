"""Everything that the floor says can be said in each of its languages."""

import re
import sys
from datetime import date

import pytest
from django.template.loader import render_to_string
from django.utils import translation

from plant.catalogue.cautions import CAUTIONS, EVERYWHERE
from plant.catalogue.models import Part
from plant.equipment.models import Tool
from plant.quantities import steps_of
from plant.speaking import day_words, say, word
from plant.templatetags.showing import spoken
from plant.trade_words import WORDS
from records.floor.bands import Band
from records.scenario import works
from tests import sources, unmarked

sys.path.insert(0, str(sources.BASE / "deploy"))
from words import LANGUAGES, brought_up, gathered, not_gathered, of_templates

# What is told in a way that nobody can follow to its sentence: each comes from a table, a field or another function, in
# which the sentence is marked by itself; the words of a weak password are the library's, which translates them.
MARKED_ELSEWHERE = {
    "plant/catalogue/cautions.py CAUTIONS[one]",
    "plant/misreads.py self.words",
    "plant/people/actions.py ' '.join(weak.messages).replace('%', '%%')",
    "plant/scans.py words",
    "plant/speaking.py small",
    "plant/speaking.py text",
    "plant/speaking.py words",
    "records/floor/asking.py IN_THE_LIST",
    "records/floor/asking.py _first(question)",
    "records/floor/carrying.py OLD",
    "records/floor/carrying.py WRONG",
    "records/floor/carrying.py text",
    "records/floor/handing.py NOTHING[self.about]",
    "records/floor/holding.py PLACES[stands]",
    "records/floor/holding.py STOPS[hold.scope]",
    "records/floor/holding.py WHAT_TO_DO[stands]",
    "records/floor/moulding.py words",
    "records/floor/on_paper.py why",
    "records/floor/opening.py self.words",
    "records/floor/own.py NOT_OWN[others]",
    "records/floor/snapshot.py EVERYWHERE",
    "records/floor/tasks.py self.bar",
    "records/floor/tasks.py task.word",
    "records/floor/tasks.py word",
    "records/floor/undoing.py INSTEAD[entry.kind]",
    "records/floor/views.py EVERYWHERE",
    "records/items/actions/keeping.py _STANDS[what]",
    "records/items/gates.py barred.words",
    "records/items/gates.py ended.words",
    "records/items/gates.py words",
    "records/ledger/letting_in.py doubt.words",
    "records/ledger/acts.py words",
    "records/steps/checks.py fault.words",
    "records/steps/checks.py words",
    "records/trace/finding.py doubt.words",
}


@pytest.fixture(scope="module")
def said() -> dict[str, list[str]]:
    return gathered()


@pytest.mark.parametrize("domain", ["django", "djangojs"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_has_words_with_the_same_places_and_no_word_is_said_nowhere(said, language, domain):
    assert len(said[domain]) > 200
    assert brought_up(language, domain, said[domain], write=False) == []


def test_the_parts_of_the_page_that_stands_in_for_any_other_are_said_by_its_script(said):
    shell = (sources.BASE / "templates" / "floor" / "shell.html").read_text(encoding="utf-8")
    parts = re.findall(r'{% include "floor/([\w.]+)" %}', shell)
    assert parts
    assert {one for part in parts for one in of_templates(part)} <= set(said["djangojs"])


def test_a_sentence_under_a_name_is_gathered_too(said):
    assert "%(printer)s does not answer. Take the file, or choose another printer." in said["django"]
    assert "Tablet %(tablet)s is locked out. Use another one, or a sheet." in said["django"]
    assert set(not_gathered()) == MARKED_ELSEWHERE


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_caution_is_said_in_each_language(language):
    with translation.override(language):
        for caution in (EVERYWHERE, *CAUTIONS.values()):
            assert word(caution) != caution


@pytest.mark.parametrize("path", unmarked.floor_templates(), ids=lambda path: path.name)
def test_no_template_of_the_floor_holds_words_that_no_catalog_can_say(path):
    assert unmarked.unmarked_of_template(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", sorted(unmarked.SCRIPTS.glob("*.js")), ids=lambda path: path.name)
def test_no_script_of_the_floor_holds_a_sentence_that_no_catalog_can_say(path):
    assert unmarked.unmarked_of_script(path.read_text(encoding="utf-8")) == []


def test_what_is_not_marked_is_found():
    assert unmarked.unmarked_of_template('<p aria-label="Number pad">{% translate "Floor" %}</p>') == ["Number pad"]
    assert unmarked.unmarked_of_template("<h1>{% if a %}Nothing waits{% endif %}</h1>") == ["Nothing waits"]
    assert unmarked.unmarked_of_script('telling("h1", "Nothing waits here"); say("It waits here");') == [
        "Nothing waits here"
    ]
    assert unmarked.unmarked_of_script("draw(`No link as of ${at}`)") == ["No link as of "]


def test_names_of_the_trial_works_and_kinds_of_things_are_trade_words():
    opening = works.opening()
    named = {operation.name for route in opening.routes for operation in route.operations}
    named |= {reading.name for route in opening.routes for one in route.operations for reading in one.readings}
    named |= {measure.name for measure in opening.characteristics} | {gauge.kind for gauge in opening.gauges}
    named |= {part.name for part in opening.parts if not part.name.startswith(("Osier", "Sedge"))} - {""}
    named |= {station.name for station in opening.stations} | {station.kind for station in opening.stations}
    assert {*named, *Part.Kind.labels, *Tool.Kind.labels} - set(WORDS) == set()


def test_a_word_keeps_its_capital_and_the_number_behind_it():
    with translation.override("de"):
        assert word("mould") == word("Mould") == "Werkzeug"
        assert (word("Bladder 2"), word("fibre or binder")) == ("Blähschlauch 2", "Faser oder Binder")
        assert word("TW-26-000396-8") == "TW-26-000396-8"
        assert say("Scan the %(thing)s", thing="mixed resin") == "Scannen: Harzansatz"


@pytest.mark.parametrize(("language", "day"), [("en", "24 Nov"), ("de", "24. Nov"), ("it", "24 nov")])
def test_a_day_is_written_as_the_language_has_it(language, day):
    with translation.override(language):
        assert day_words(date(2026, 11, 24)) == day


@pytest.mark.parametrize("language", ["en", *LANGUAGES])
def test_a_typed_comma_is_read_in_every_language(language):
    with translation.override(language):
        assert steps_of("59,4", "degC", "temperature") == steps_of("59.4", "degC", "temperature")


def test_a_gauge_is_drawn_with_points_and_says_its_numbers_with_the_mark_of_the_language():
    band = Band("mm", "length", 1_550_000, 5_650_000, 3_600_000)
    with translation.override("de"):
        drawn = render_to_string("parts/gauge.html", {"band": band, "gauge": band.picture("2.5"), "text": "2.5"})
        assert spoken("59.4") == "59,4"
    numbers = re.findall(r'\b(?:x|cx|width|d|data-[a-z-]+)="([^"]*)"', drawn)
    assert numbers
    assert not [one for one in numbers if "," in one]
    assert "," in "".join(re.findall(r"<text[^>]*>([^<]*)</text>", drawn))
