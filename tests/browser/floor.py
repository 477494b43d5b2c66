"""Hands on a tablet: scans and presses as a person makes them, each of them counted."""

import re
from dataclasses import dataclass, field

from playwright.sync_api import Page, expect

from records.scenario.works import BADGES, PASSWORD, STATIONS


def at(station: str) -> str:
    """Address of a station of the scenario's works."""
    return f"/floor/at/{STATIONS[station]}/"


def enter(page: Page, who: str, station: str) -> None:
    """Sign in with a link and wait until the tablet has taken the rules along."""
    page.context.clear_cookies()
    page.goto("/sign/in/")
    page.get_by_label("Badge").fill(BADGES[who])
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page).not_to_have_url(re.compile("/sign/"))
    page.goto(at(station))
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.wait_for_function("() => navigator.serviceWorker.controller")
    page.wait_for_function(
        "b => import('/static/floor/outbox.js').then(o => o.recall('session')).then(s => s === b)", arg=BADGES[who]
    )
    take_along(page)


def take_along(page: Page) -> None:
    """The rules of this moment are on the tablet."""
    page.evaluate("import('/static/floor/link.js').then(link => link.takeAlong(true)).then(() => null)")


def all_sent(page: Page) -> None:
    """The link is there and nothing waits any more."""
    page.context.set_offline(False)
    page.evaluate("import('/static/floor/link.js').then(link => link.send()).then(() => null)")
    page.wait_for_function(
        "() => import('/static/floor/outbox.js').then(b => b.entries('waiting')).then(w => !w.length)", timeout=30_000
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
