"""Every page in the table of rights, as a role that may open it: rules of axe-core 4 (WCAG 2.2 A and AA among them) in
all three lights, no sideways scroll on a narrow screen, and the keyboard reaches all of it with a ring to see.
"""

import re
from collections.abc import Iterator
from dataclasses import asdict

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from playwright.sync_api import Page, expect

from plant.people.rights import Role
from tests import desks, worlds
from tests.browser.floor import sign_in
from tests.rights import PAGES
from tests.test_rights import address_of

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
# Each page is opened as the first of these that may; on the floor as those who log there.
LOOKERS = (Role.REVIEW, Role.ENGINEER, Role.STORES, Role.MANAGER)
# Answers that no row of the table gives: an unknown address, a search that finds nothing, one that finds.
MORE = ["/nowhere/", "/trace/?code=RB-II42", f"/trace/in-common/?codes={worlds.HERE}&among=lot&days=7"]
VIOLATIONS = {"resultTypes": ["violations"]}
CONTRAST = VIOLATIONS | {"runOnly": ["color-contrast"]}
REACHABLE = "a[href], button:enabled, input:enabled:not([type=hidden]), select:enabled, textarea:enabled, summary"


def looker_at(page: object) -> str:
    able = page.lets & {Role.OPERATOR} if page.name.startswith("floor:") else ()
    return next(iter(able), None) or next((role for role in LOOKERS if role in page.lets), sorted(page.lets)[0])


LOOKED_AT = {
    role: [page for page in PAGES if page.sends is None and looker_at(page) == role]
    for role in (*LOOKERS, Role.OPERATOR)
}


def addresses_of(role: str) -> list[str]:
    """Addresses that answer a role with a page to look at, not with a file."""
    waiting = asdict(worlds.matters_waiting()) | asdict(desks.all_of_it())
    addresses = [address_of(page, waiting) for page in LOOKED_AT[role]]
    client: Client = worlds.signed_in(role)
    answers = {address: client.get(address) for address in addresses}
    answers = {address: got for address, got in answers.items() if got.status_code != 302}  # nothing typed waits
    assert {address: got.status_code for address, got in answers.items() if got.status_code != 200} == {}
    pages = [address for address, got in answers.items() if "html" in got.headers["Content-Type"]]
    return [*pages, *MORE] if role == Role.REVIEW else pages


def faults(page: Page, rules: dict | None = None) -> list[str]:
    """What axe-core finds, by all its rules or by these; a page that it stands in already takes no second copy."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(Axe().axe_script)
    found = page.evaluate("rules => axe.run(rules).then(({ violations }) => violations)", rules or VIOLATIONS)
    return [f"{page.url} {fault['id']}: {node['html'][:90]}" for fault in found for node in fault["nodes"]]


def enter(page: Page, badge: str = "review") -> None:
    sign_in(page, badge, worlds.PASSWORD)


def in_other_lights(page: Page) -> Iterator[str]:
    """What stands out too little from its ground; the other rules do not depend on the light."""
    for light in ("dark", "glare"):
        page.evaluate("light => { document.documentElement.dataset.light = light }", light)
        yield from (f"{light} {fault}" for fault in faults(page, CONTRAST))


def sideways(page: Page) -> Iterator[str]:
    """Widths at which the page itself scrolls sideways: a narrow phone, and a desk of 1280 px at 200 %."""
    for width in (320, 640):
        page.set_viewport_size({"width": width, "height": 640})
        wide = page.evaluate("document.documentElement.scrollWidth")
        if wide > width:
            yield f"{page.url} is {wide} px wide at {width}"
    page.set_viewport_size({"width": 1280, "height": 800})


def beyond_the_keyboard(page: Page, again: int = 2) -> Iterator[str]:
    """What Tab does not come by, and what does not show that it is there."""
    due = page.evaluate(
        """reachable => {
            document.activeElement.blur();
            const all = [...document.querySelectorAll(reachable)].filter((one) => one.checkVisibility());
            // Of a group of choices the keyboard reaches one; arrows go on from there.
            const first = (one) => one.type !== 'radio' || all.find((other) => other.name === one.name) === one;
            const due = all.filter((one) => one.tabIndex >= 0 && first(one));
            due.forEach((one, n) => { one.dataset.due = one.type === 'radio' ? one.name : n });
            // The page notes after each press where it led: to ask it each time would cost as much again.
            if (!window.came_by) window.addEventListener('keyup', () => {
                const one = document.activeElement;
                // The scan box wears the ring around its mark and field.
                const ring = one === document.body ? '' : getComputedStyle(one.closest('.seek') ?? one).outlineStyle;
                came_by.push([one.dataset.due ?? one.name, ring, one.outerHTML.slice(0, 90)]);
            }, true);
            window.came_by = [];
            return due.map((one) => one.dataset.due);
        }""",
        REACHABLE,
    )
    for _ in range(len(due) + 12):
        page.keyboard.press("Tab")
    come_by = page.evaluate("window.came_by ?? []")
    yield from (f"{page.url} shows no ring: {what}" for _, ring, what in come_by if ring == "none")
    seen = {at for at, _, _ in come_by}
    for one in due:
        if one not in seen:
            left = page.locator(f'[data-due="{one}"]')
            if not left.count() and again:  # the page drew itself anew while it was walked: it is walked once more
                yield from beyond_the_keyboard(page, again - 1)
                return
            html = left.first.evaluate("one => one.outerHTML")
            yield f"{page.url} is not reached: {html[:90]}"


# Half of all pages are those of Review: they are looked at where long walks are asked for.
ROLES = [pytest.param(role, marks=pytest.mark.unhurried) if role == Role.REVIEW else role for role in LOOKED_AT]


@pytest.mark.long
@pytest.mark.parametrize("role", ROLES)
def test_no_page_breaks_a_rule_of_accessibility(page: Page, role: str):
    worlds.a_straight_week()
    page.goto("/sign/in/")
    found = faults(page)
    enter(page, role)
    for address in addresses_of(role):
        page.goto(address)
        page.wait_for_function("() => !document.querySelector('[data-soon]')")  # a script draws what a tablet keeps
        found += [*faults(page), *beyond_the_keyboard(page), *sideways(page), *in_other_lights(page)]
    assert found == [], "\n".join(found)


def contrast(one: str, other: str) -> float:
    """Ratio of two colours as a browser tells them, by the formula of WCAG 2.2 (relative luminance)."""

    def luminance(colour: str) -> float:
        shares = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
        red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


# What is drawn, by the page that draws it.
DRAWN = {
    f"/trace/unit/{worlds.HERE}/": ".life-strand",
    f"/trace/lot-to-frames/{worlds.RESIN}/": ".strand",
    "/plant/": ".flow-strand",
    "/charts/OSIER/shell-width/": ".plot .join",
}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_drawings_stand_out_in_colours_of_the_readers_own(page: Page, scheme: str):
    worlds.a_straight_week()
    desks.all_of_it()
    page.set_viewport_size({"width": 1440, "height": 900})
    page.emulate_media(forced_colors="active", color_scheme=scheme)
    enter(page)
    for address, drawn in DRAWN.items():
        page.goto(address)
        stroke = page.locator(drawn).first.evaluate("one => getComputedStyle(one).stroke")
        ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert contrast(stroke, ground) > 7, (address, stroke, ground)
    page.goto(f"/trace/unit/{worlds.HERE}/")
    # Else the system's plate would cover the words of a filled key.
    kept = page.locator(".btn").first.evaluate("one => getComputedStyle(one).forcedColorAdjust")
    assert kept == "none"


def test_a_page_is_worked_with_the_keyboard_alone(page: Page):
    worlds.a_straight_week()
    enter(page)
    page.goto(f"/trace/unit/{worlds.HERE}/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Go to the page")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    seen = []
    for _ in range(12):
        seen.append(page.evaluate("document.activeElement.innerText"))
        ring = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert ring == "3px", (seen[-1], ring)
        if seen[-1] == "Hold it":
            break
        page.keyboard.press("Tab")
    assert seen[-1] == "Hold it"
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Why do you hold")
