"""A press that leads on is answered at once and counts once, whatever the link does; the script alone is asked."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from tests.browser.floor import alone

pytestmark = [pytest.mark.browser, pytest.mark.sqlite]

SCREEN = """<!doctype html><header class="fbar"></header><main>
<a class="key" href="/floor/at/a/unit/x/">Unit x</a><a class="key" href="/floor/at/a/unit/y/">Unit y</a>
<form method="post" action="/floor/at/a/label/x/"><input name="words"><button class="key">Print it</button></form>
<form class="ask" method="post" action="/sign/in/"><input name="username"><button class="key">Sign in</button></form>
<a class="key" href="/">Start</a></main>
<script type="module">import { startGoing } from "/static/floor/going.js"; startGoing();
document.title = "ready";</script>"""


@pytest.fixture
def asked(page: Page) -> Iterator[list[str]]:
    """The screen is there and its link dead: what it asks for from now on gets no answer."""
    yield alone(page, SCREEN)
    page.unroute_all(behavior="ignoreErrors")


def pressed(page: Page, tale: str) -> object:
    """What fingers see that wait for nothing; the driver would wait for the page that is on its way."""
    fingers = """
      const press = (words) => [...document.querySelectorAll('.key')].find((key) => key.textContent === words).click();
      const going = () => [...document.querySelectorAll('[data-going]')].map((key) => key.textContent);
      const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
    """
    return page.evaluate(f"async () => {{ {fingers} {tale} }}")


def test_a_key_that_was_pressed_shows_it_at_once_and_asks_once(page: Page, asked: list[str]):
    tale = """
      press('Unit x');
      const atOnce = going();
      press('Unit x');
      await wait(700);
      press('Unit x');
      await wait(100);
      return [atOnce, document.querySelector('.going').textContent];
    """
    assert pressed(page, tale) == [["Unit x"], "Pressed. The next screen comes by itself."]
    assert asked == ["unit/x/"]


def test_another_key_may_be_pressed_instead(page: Page, asked: list[str]):
    assert pressed(page, "press('Unit x'); press('Unit y'); return going();") == ["Unit y"]


def test_a_form_without_an_answer_stays_as_it_was_written_and_may_be_pressed_again(page: Page, asked: list[str]):
    tale = """
      const field = document.querySelector('input');
      field.value = 'scratched';
      press('Print it');
      press('Print it');
      await wait(100);
      const told = { data: { unanswered: 'http://localhost:9/floor/at/a/label/x/' } };
      navigator.serviceWorker.dispatchEvent(new MessageEvent('message', told));
      const words = document.querySelector('form [role=alert]').textContent;
      press('Print it');
      await wait(100);
      return [words, field.value];
    """
    said = "No answer came. What is written here stays. Press again: it counts once."
    assert pressed(page, tale) == [said, "scratched"]
    assert asked == ["label/x/"] * 2


# A minute of the page takes a second of the test.
FASTER = "const timer = window.setTimeout; window.setTimeout = (work, ms, ...told) => timer(work, ms / 60, ...told);"


@pytest.mark.parametrize(("key", "away"), [("Sign in", "sign/in/"), ("Start", "http://localhost:9/")])
def test_what_leads_off_the_floor_has_patience_too_and_the_page_stays_as_it_was(page: Page, key: str, away: str):
    page.add_init_script(FASTER)
    asked = alone(page, SCREEN)
    tale = f"""
      const field = document.querySelector('[name=username]');
      const said = () => document.querySelector('[role=alert]')?.textContent ?? '';
      field.value = 'PB-1';
      press('{key}');
      await wait(11_000);
      const before = [said(), going()];
      await wait(4_000);
      return [...before, said(), going(), field.value];
    """
    words = "No answer came. What is written here stays. Press again: it counts once."
    assert pressed(page, tale) == ["", [key], words, [], "PB-1"]
    assert asked == [away] or asked[0].endswith(away)
    page.unroute_all(behavior="ignoreErrors")
