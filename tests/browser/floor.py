"""Hands on a tablet: scans and presses as a person makes them, each of them counted."""

import re
from dataclasses import dataclass, field
from http import HTTPStatus

from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, Route, expect

from records.scenario.works import BADGES, PASSWORD, STATIONS

# What the floor's own modules keep; a page asks them as its screens do.
OUTBOX = "const box = await import('/static/floor/outbox.js');"


# A screen without a server: nobody answers there but a test.
ALONE = "http://localhost:9/floor/at/a/"


def alone(page: Page, screen: str) -> list[str]:
    """A screen whose scripts come from their files, on a dead link; what else it asks for is told by its end."""
    asked: list[str] = []

    def link(route: Route) -> None:
        address = route.request.url
        if "/static/" in address:
            route.fulfill(path=str(finders.find(address.split("/static/")[1])))
        elif address == ALONE:
            route.fulfill(body=screen, content_type="text/html")
        else:
            asked.append(address.removeprefix(ALONE))

    page.route("**/*", link)
    page.goto(ALONE)
    expect(page).to_have_title("ready")
    return asked


def at(station: str) -> str:
    """Address of a station of the scenario's works."""
    return f"/floor/at/{STATIONS[station]}/"


def until(page: Page, asked: str, arg: object = None, looks: int = 600) -> None:
    """Wait for a yes to a question answered by a promise: the page's own waiting takes the promise for the yes."""
    for _ in range(looks):
        if page.evaluate(asked, arg):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"Asked {looks} times, never so: {asked} of {arg}")


def come_in(page: Page, badge: str, password: str, address: str) -> None:
    """Sign in with a link, open a screen, and wait until the tablet has taken the rules along."""
    sign_in(page, badge, password)
    settle(page, badge, address)


def sign_in(page: Page, badge: str, password: str) -> None:
    """The door's own answer, without its page being drawn."""
    client = Client(SERVER_NAME="localhost")  # a bench has no other host
    answer = client.post(reverse("people:sign_in"), {"username": badge, "password": password})
    assert answer.status_code == HTTPStatus.FOUND, answer.content.decode()
    page.context.clear_cookies()
    held = [{"name": name, "value": cookie.value} for name, cookie in client.cookies.items()]
    page.context.add_cookies([{**cookie, "domain": "localhost", "path": "/", "secure": True} for cookie in held])


def sign_in_by_hand(page: Page, badge: str, password: str) -> None:
    """Through the door, as a person does; at a server of its own there is no other way."""
    page.context.clear_cookies()
    page.goto("/sign/in/")
    page.get_by_label("Badge").fill(badge)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
    expect(page).not_to_have_url(re.compile("/sign/"))


def settle(page: Page, badge: str, address: str) -> None:
    """Somebody who is signed in opens a screen; the tablet has all it needs for the time without a link."""
    page.goto(address)
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.wait_for_function("() => navigator.serviceWorker.controller")
    until(page, f"async badge => {{ {OUTBOX} return await box.recall('session') === badge; }}", badge)
    take_along(page)


def enter(page: Page, who: str, station: str) -> None:
    """Somebody of the scenario's works comes in at a station."""
    come_in(page, BADGES[who], PASSWORD, at(station))


def take_along(page: Page) -> None:
    """The rules of this moment are on the tablet."""
    page.evaluate("import('/static/floor/link.js').then(link => link.takeAlong(true)).then(() => null)")


def all_sent(page: Page, but: int = 0) -> None:
    """The link is there and nothing waits any more, or no more than so many."""
    page.context.set_offline(False)
    page.evaluate("import('/static/floor/link.js').then(link => link.send()).then(() => null)")
    until(page, f"async n => {{ {OUTBOX} return (await box.entries('waiting')).length <= n; }}", but, looks=1200)


def scan(page: Page, text: str) -> None:
    """As a scanner with a start sign types it: keys of the keyboard, which press what has the focus."""
    page.keyboard.press("F9")
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def typed(page: Page, *keys: str, gap_ms: int = 0) -> None:
    """Keys as the page hears them, with so many ms from one to the next; without a gap as fast as any scanner."""
    page.evaluate(
        """async ([keys, gap]) => {
          for (const key of keys) {
            const on = document.activeElement ?? document.body;
            on.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
            if (gap) await new Promise(resolve => setTimeout(resolve, gap));
          }
        }""",
        [keys, gap_ms],
    )


@dataclass
class Hands:
    """One logged step by a person: things that go in are counted apart from what the program asks besides."""

    page: Page
    touches: list[str] = field(default_factory=list)
    things: list[str] = field(default_factory=list)

    def scan(self, code: str, *, thing: bool = False) -> None:
        """One scan: the code comes as from a scanner that types, with Enter. ``thing``: one of several that go in."""
        (self.things if thing else self.touches).append(f"scan {code}")
        input_ = self.page.locator("#answer:not([data-unit]), form.scan #code").first
        before = self.page.url
        input_.fill(code)
        input_.press("Enter")
        self.page.wait_for_url(lambda url: url != before)

    def press(self, words: str | re.Pattern) -> None:
        """One press on a key or a link."""
        self.touches.append(f"press {words}")
        before = self.page.url
        key = self.page.get_by_role("button", name=words).or_(self.page.get_by_role("link", name=words))
        key.first.click()
        self.page.wait_for_url(lambda url: url != before)

    def number(self, text: str) -> None:
        """A number with others after it: its digits, and the press that takes it, counted with the things."""
        self.things.append(f"take {text}")
        before = self.page.url
        self.page.locator("#answer").fill(text)
        self.page.locator("button.log").click()
        self.page.wait_for_url(lambda url: url != before)

    def digits(self, text: str) -> None:
        """Digits, which are not counted."""
        self.page.locator("#answer").fill(text)
