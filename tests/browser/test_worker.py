"""The worker of the floor on a breaking link: pages and their parts, told to the script itself with a made-up link."""

from pathlib import Path

import pytest
from playwright.sync_api import Page

from records.floor.tablet import WORKER

pytestmark = [pytest.mark.browser, pytest.mark.sqlite]

WORLD = Path(__file__).with_name("worker_world.js").read_text(encoding="utf-8")


@pytest.fixture
def tells(page: Page):
    """What a tale of the tablet comes to."""

    def told(tale: str) -> object:
        return page.evaluate(f"async (text) => {{ {WORLD} {tale} }}", WORKER.read_text(encoding="utf-8"))

    return told


def test_a_page_of_which_nothing_came_is_drawn_by_the_tablet(tells):
    """A browser takes a head that was cut off over plain http for a whole one, and the page for empty."""
    tale = """
      const here = await begun('1');
      link = () => new Response(null, { headers: { 'Floor-Shell': '1' } });
      return (await here.page('/floor/at/a/', 'p')).text();
    """
    assert tells(tale) == "/floor/shell/ of 1"


def test_a_part_of_which_nothing_came_is_not_kept(tells):
    tale = """
      link = () => new Response('');
      return (await worker('1')).install().then(() => 'kept', () => 'left');
    """
    assert tells(tale) == "left"


def test_a_worker_that_forgot_everything_gives_parts_without_a_link(tells):
    tale = """
      await (await begun('1')).page('/floor/at/a/', 'p');
      const again = await worker('1');
      dead();
      return [await again.part('/static/floor/tablet.js', 'p'), asked];
    """
    assert tells(tale) == ["/static/floor/tablet.js of 1", []]


def test_a_newer_page_is_made_of_its_own_parts_though_the_worker_forgot(tells):
    tale = """
      const here = await begun('1');
      link = from('2');
      await here.page('/floor/at/a/', 'p');
      const again = await worker('1');
      const asks = [[here, 'p'], [again, 'p'], [again, 'q']];
      return Promise.all(asks.map(([who, id]) => who.part('/static/floor/link.js', id)));
    """
    assert tells(tale) == [f"/static/floor/link.js of {version}" for version in (2, 2, 1)]


def test_a_newer_page_whose_parts_do_not_come_is_drawn_by_the_tablet_when_it_asks_again(tells):
    tale = """
      const here = await begun('1');
      link = from('2');
      await here.page('/floor/at/a/?code=x', 'p');
      dead();
      const part = await here.part('/static/floor/link.js', 'p');
      return [part, await (await here.page('/floor/at/a/?code=x', 'p2')).text(), asked];
    """
    assert tells(tale) == ["nothing", "/floor/shell/ of 1", ["/static/floor/link.js"]]


def test_an_older_page_keeps_its_parts_as_long_as_it_is_open(tells):
    tale = """
      const old = await begun('1');
      await old.page('/floor/at/a/', 'p');
      open('p', '/floor/at/a/');
      const later = await begun('2');
      dead();
      const asks = [[later, 'p'], [await worker('2'), 'p'], [later, 'q']];
      const parts = await Promise.all(asks.map(([who, id]) => who.part('/static/floor/link.js', id)));
      pages.clear();
      await begun('3');
      return [parts, [...kept.keys()].filter((name) => name.startsWith('floor-'))];
    """
    assert tells(tale) == [[f"/static/floor/link.js of {version}" for version in (1, 1, 2)], ["floor-3"]]


def test_a_form_that_gets_no_answer_leaves_its_page_as_it_is_and_tells_it(tells):
    tale = """
      const here = await begun('1');
      open('p', '/floor/at/a/label/x/');
      dead();
      const answer = await here.form('/floor/at/a/label/x/', 'p');
      return [answer.status, pages.get('p').told];
    """
    assert tells(tale) == [204, [{"unanswered": "https://works/floor/at/a/label/x/"}]]


def test_nothing_is_waited_for_where_the_page_has_just_found_no_link(tells):
    tale = """
      const here = await begun('1');
      dead();
      await here.message({ link: false });
      const drawn = await (await here.page('/floor/at/a/', 'p')).text();
      link = from('1');
      await here.message({ link: true });
      return [drawn, asked.length, await (await here.page('/floor/at/a/', 'q')).text()];
    """
    assert tells(tale) == ["/floor/shell/ of 1", 0, "/floor/at/a/ of 1"]


def test_a_cache_that_breaks_down_once_is_asked_again_for_the_next_page(tells):
    tale = """
      const here = await begun('1');
      dead();
      const match = caches.match;
      caches.match = () => Promise.reject(new Error('the disk'));
      const failed = await here.part('/static/floor/link.js', 'p');
      caches.match = match;
      return [failed, await here.part('/static/floor/link.js', 'p2')];
    """
    assert tells(tale) == ["nothing", "/static/floor/link.js of 1"]


def test_a_part_is_read_once_however_often_a_page_asks_for_it(tells):
    tale = """
      const here = await begun('1');
      await here.part('/static/floor/link.js', 'p');
      caches.match = () => Promise.reject(new Error('the disk'));
      return [await here.part('/static/floor/link.js', 'p'), await here.part('/static/floor/link.js', 'q')];
    """
    assert tells(tale) == ["/static/floor/link.js of 1"] * 2
