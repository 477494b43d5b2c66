"""A page whose scripts did not all come asks for itself once more, and no oftener; the script alone is asked."""

from collections.abc import Callable

import pytest
from django.contrib.staticfiles import finders
from playwright.sync_api import Page, Route, expect

pytestmark = [pytest.mark.browser, pytest.mark.sqlite]

HERE = "http://localhost:9/floor/at/a/?code=F1"
SCREEN = """<!doctype html><script src="/again.js"></script><script type="module" src="/needed.js" data-needed></script>
<script type="module" src="/beside.js"></script><h1>dead</h1>"""
NEEDED = 'import "./part.js"; document.querySelector("h1").textContent = "alive";'


@pytest.fixture
def opened(page: Page) -> Callable[[str, int], list[str]]:
    """Open the screen where a script fails so many times; what it asked for."""

    def opened(broken: str, times: int) -> list[str]:
        asked: list[str] = []

        def link(route: Route) -> None:
            name = route.request.url.rpartition("/")[2]
            asked.append(name)
            if name == broken and asked.count(name) <= times:
                route.abort()
            elif name == "again.js":
                route.fulfill(path=str(finders.find("floor/again.js")))
            elif name.endswith(".js"):
                route.fulfill(content_type="text/javascript", body=NEEDED if name == "needed.js" else "")
            else:
                route.fulfill(content_type="text/html", body=SCREEN)

        page.route("**/*", link)
        page.goto(HERE)
        page.wait_for_timeout(500)
        return [name for name in asked if not name.endswith(".js") and "favicon" not in name]

    return opened


def test_a_page_of_which_a_part_failed_comes_alive_by_itself(page: Page, opened: Callable[[str, int], list[str]]):
    assert opened("part.js", 1) == ["?code=F1"] * 2
    expect(page.get_by_role("heading")).to_have_text("alive")


def test_what_fails_again_is_not_asked_for_without_end(page: Page, opened: Callable[[str, int], list[str]]):
    assert opened("part.js", 9) == ["?code=F1"] * 2


def test_a_page_lives_without_what_stands_beside(page: Page, opened: Callable[[str, int], list[str]]):
    assert opened("beside.js", 9) == ["?code=F1"]
    expect(page.get_by_role("heading")).to_have_text("alive")
