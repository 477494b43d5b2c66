"""The hand-over, calls and holds on a tablet without a link: what it knew, with its time; the scripts are asked."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from tests.browser.floor import OUTBOX, alone

pytestmark = [pytest.mark.browser, pytest.mark.sqlite]

SCREEN = """<!doctype html><html lang="de"><main></main><template data-turning-keys><div></div></template>
<script type="module">
import { drawHandOver } from "/static/floor/handing.js"; import { drawTold } from "/static/floor/told.js";
Object.assign(window, { drawHandOver, drawTold }); document.title = "ready";</script>"""
# What the tablet knows: a hold as the server told it, a pot of which 20 minutes were left when it was told of, one of
# glue.
KNOWN = """{
  as_of: '2026-03-02T08:00:00Z', now: () => Date.parse('2026-03-02T08:12:30Z'), units: new Map(),
  person: { acts: ['shift handed over'] },
  lots: new Map([['P9', {
    code: 'P9', part: 'MIX-A', kind: 'resin-mix', began: '2026-03-02T07:50:00Z', ends: '2026-03-02T08:20:00Z',
  }], ['P8', {
    code: 'P8', part: 'ADH-M', kind: 'adhesive-mix', began: '2026-03-02T07:30:00Z', ends: '2026-03-02T08:30:00Z',
  }]]),
  snapshot: { handing_shown: 'signed lines', parts: [], people: [{ badge: 'B1', name: 'Ada' }], handing: [
    { about: 'hold', head: { en: 'holds', de: 'Sperren' }, none: {}, lines: [['F1', { en: 'doubt', de: 'Zweifel' }]] },
    { about: 'pot', head: { en: 'pots' }, none: {}, lines: [] },
    { about: 'call', head: { en: 'calls' }, none: { en: 'Every call was answered.' }, lines: [] },
  ] },
}"""


@pytest.fixture
def sections(page: Page) -> Iterator[list[str]]:
    """Its head and its sections as they read, after an entry was kept here that did not go up."""
    alone(page, SCREEN)
    kept = "{ key: 'k', kind: 'move', payload: { item: 'F7' }, by: 'B1', label: 'move it' }"
    tale = f"""
      await box.put([{kept}]);
      await window.drawHandOver(document.querySelector('main'), {KNOWN});
      window.entry = JSON.parse(document.querySelector('form.handing')?.dataset.entry ?? 'null');
      return [...document.querySelectorAll('h1, .leaves section')].map((one) => one.innerText.split(/\\s+/).join(' '));
    """
    yield page.evaluate(f"async () => {{ {OUTBOX} {tale} }}")
    page.unroute_all(behavior="ignoreErrors")


def test_it_says_as_of_when_what_waits_here_what_it_was_told_of_and_the_minutes_of_a_pot_as_they_are_now(sections):
    head, unsent, *told = sections
    assert head.startswith("Hand-over, as of 2")
    assert unsent.startswith("Not gone up from this tablet 1 F7 move it, ")
    assert unsent.endswith(", Ada")
    pots = "Pots 2 P9 MIX-A, 7 min left P8 ADH-M, 17 min left"
    assert told == ["Sperren 1 F1 Zweifel", pots, "Calls 0 Every call was answered."]


def test_both_sign_it_without_a_link_by_an_entry_that_says_what_they_had_before_them(sections, page: Page):
    entry = page.evaluate("window.entry")
    assert entry["payload"] == {"shown": "signed lines", "words": "", "without_link": True, "unsent": 1}
    assert (entry["kind"], entry["label"], entry["done"]) == ("hand-over", "hand-over", True)
    assert entry["needs_second"] == "The lead who takes over signs beside you."


TOLD = """{
  as_of: '2026-03-02T08:00:00Z', person: { acts: ['told by voice'] },
  units: new Map([['F1', { code: 'F1', holds: [{ key: 'h', at: '2026-03-02T07:00:00Z', reason: 'doubt' }] }],
                  ['F2', { code: 'F2', holds: [{ key: 'h', at: '2026-03-02T07:00:00Z', reason: 'doubt' }] }]]),
  snapshot: {
    calls: [{ key: 'c', call: true, what: { en: 'Ada calls.', de: 'Ada ruft.' } }],
    choices: { voice: [['phoned', 'Phoned'], ['own', 'Own']], answers: [['coming', 'Coming'], ['own', 'Own']] },
    lots_held: { R1: [{ key: 'r', at: '2026-03-02T07:30:00Z', reason: 'leak' }] },
  },
}"""


def drawn(page: Page, key: str, asks: str, *, what: str = "told", told: str = TOLD, kept: str = "[]") -> object:
    """What stands on the screen of calls and holds, or of one of them, after these entries were kept here."""
    alone(page, SCREEN)
    tale = f"{OUTBOX} await box.put({kept}); const told = {told};"
    tale += f"await window.drawTold(document.querySelector('main'), told, {key!r}, {what!r}); return {asks};"
    return page.evaluate(f"async () => {{ {tale} }}")


def test_calls_stand_first_then_what_is_held_the_newest_first_and_once_however_much_one_entry_holds(page: Page):
    rows = (
        "[...document.querySelectorAll('.leaves a')].map((row) => [row.pathname, row.querySelector('b').textContent])"
    )
    assert drawn(page, "", rows) == [
        ["/floor/calls/c/told/", "Ada ruft."],
        ["/floor/calls/r/told/", "R1 is held: leak."],
        ["/floor/calls/h/told/", "F1 and 2 in all are held: doubt."],
    ]


def test_a_note_is_an_entry_that_waits_for_the_one_it_is_about_and_only_words_alone_need_words(page: Page):
    form = """(({ dataset, elements }) => [JSON.parse(dataset.entry), dataset.puts, elements.words.required,
      [...elements.says].map((key) => [key.value, key.formNoValidate])])(document.querySelector('form.answering'))"""
    entry, puts, *needs = drawn(page, "h", form)
    assert entry == {
        "kind": "voice",
        "payload": {"of": "h", "says": "", "words": ""},
        "done": True,
        "label": "told by voice",
        "depends_on": ["h"],
    }
    assert (puts, needs) == ("says words", [True, [["phoned", True], ["own", False]]])


LEAD = TOLD.replace("'told by voice'", "'told by voice', 'call answered'")
ANSWER = "[{ key: 'a', kind: 'answer', payload: { of: 'c' }, by: 'B1' }]"


def test_a_lead_answers_a_call_without_a_link_and_it_says_that_nobody_has_read_it(page: Page):
    rows = "[...document.querySelectorAll('.leaves a')].map((row) => [row.pathname, row.innerText])"
    (address, words), *others = drawn(page, "", rows, told=LEAD, kept=ANSWER)
    assert address == "/floor/calls/c/answer/"
    assert "Whoever waits for it has not read it: tell them by voice." in words
    assert all("Kept" not in told for _, told in others)
    form = """(({ dataset, elements }) => [JSON.parse(dataset.entry), [...elements.says].map((key) => key.value)])(
      document.querySelector('form.answering'))"""
    entry, says = drawn(page, "c", form, what="answer", told=LEAD)
    assert (entry["kind"], entry["payload"]["of"], entry["depends_on"]) == ("answer", "c", ["c"])
    assert says == ["coming", "own"]


def test_whoever_answers_no_call_notes_that_they_were_told(page: Page):
    rows = "document.querySelector('.leaves a').pathname"
    assert drawn(page, "", rows) == "/floor/calls/c/told/"
    assert drawn(page, "c", "JSON.parse(document.querySelector('form').dataset.entry).kind", what="answer") == "voice"
