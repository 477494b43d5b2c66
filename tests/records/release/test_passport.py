"""The public page of a frame: whose token opens it, what it tells and what never, and how often it is asked."""

import re
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from plant.messages import gtin_of
from plant.people.rights import Role
from plant.scans import read_scan
from records.items.actions import lift_hold, place_hold, return_frame, scrap
from records.items.queries import item_by_code
from records.release.actions import close_passport, open_passport, print_label, release_units
from records.release.models import Passport
from records.release.public import MISSES, PAGES
from records.release.tokens import LENGTH, SIGNS, new_token, read_token
from tests import builders, sources, unmarked
from tests.builders import moment, said
from tests.records.floor.told import tablet
from tests.refusing import refuses

pytestmark = pytest.mark.django_db
LANGUAGES = ("en", "de", "it")
# "Safe" in the three languages, as a word or at the head of one ("sicher", "Sicherheit", "sicuro").
NEVER_SAID = re.compile(r"\bsafe|sicher|\bsicur", re.IGNORECASE)


@pytest.fixture(autouse=True)
def nobody_asked():
    PAGES.forget()
    MISSES.forget()


@pytest.fixture
def frame(token):
    """Token of the page of a frame."""
    return token


def look(token: str, link: str = "", **more):
    return Client().get(f"/f/{token}/{link}", **more)


def words(response) -> str:
    """What a reader sees: the page without its tags, on one line."""
    body = response.content.decode().split("<body", 1)[1]
    return re.sub(r"\s+", " ", unescape(re.sub(r"<svg.*?</svg>|<[^>]*>", " ", body, flags=re.DOTALL)))


def test_a_released_frame_has_a_page_that_says_who_it_is_and_that_no_notice_is_known(frame):
    page = look(frame)
    assert page.status_code == 200
    for told in ("Tarnside Works", "X1", "No notice known", "No record proves that a frame is sound"):
        assert told in words(page)
    assert "Winding figure of X1" in page.content.decode()
    assert "Do not ride" not in words(page)


def test_a_token_is_made_by_chance_and_long_enough_and_may_be_typed_in_any_case(frame):
    made = {new_token() for _ in range(50)}
    assert len(made) == 50
    assert len(SIGNS) ** LENGTH >= 2**128
    assert {read_token(token) for token in made} == made
    assert look(frame.lower()).status_code == 200
    assert [read_token(typed) for typed in ("", "X1", "0" * (LENGTH - 1), "-" * LENGTH)] == [""] * 4


def test_nobody_who_guesses_finds_a_page_and_many_guesses_are_not_answered_for_a_while(frame, clock_at):
    near = frame[:-1] + ("0" if frame[-1] != "0" else "1")
    answers = [look(guess) for guess in (near, "1", "X1", new_token(), frame + "0")]
    assert {answer.status_code for answer in answers} == {404}
    assert len({words(answer) for answer in answers}) == 1
    for _ in range(MISSES.most - len(answers)):
        look(new_token())
    stopped = look(frame)
    assert (stopped.status_code, stopped["Retry-After"]) == (429, "600")
    assert look(frame, REMOTE_ADDR="198.51.100.7").status_code == 200
    clock_at(moment(30.2))
    assert look(frame).status_code == 200


def test_one_address_may_ask_so_often_and_one_network_of_ipv6_counts_as_one(frame):
    asked = [look(frame, REMOTE_ADDR=f"2001:db8::{n:x}").status_code for n in range(PAGES.most + 1)]
    assert asked == [200] * PAGES.most + [429]
    assert look(frame, REMOTE_ADDR="2001:db8:0:1::1").status_code == 200


def test_a_frame_that_is_held_after_it_was_shipped_says_so_at_once_and_not_why(frame):
    hold = said(29)
    place_hold("X1", reason="recall", words="resin RB-1 from Fellgate, told by Iris", said=hold)
    told = words(look(frame))
    for one in ("Do not ride", "Notice of 3 Mar 2026", "Put the frame where nobody rides it"):
        assert one in told
    for never in ("No notice known", "recall", "resin", "RB-1", "Fellgate", "Iris"):
        assert never not in told
    lift_hold(hold.key, words="another batch", said=said(29.5))
    assert "No notice known" in words(look(frame))


def test_a_hold_on_a_unit_that_is_built_in_counts_for_the_frame(frame):
    place_hold("F-X1", reason="cure", said=said(29))
    assert "Do not ride" in words(look(frame))


def test_a_frame_that_has_not_left_or_came_back_or_is_scrapped_says_no_all_is_well(frame):
    return_frame("X1", station="STORE", words="creaks", said=said(28))
    assert "Not handed over yet" in words(look(frame))
    scrap("X1", words="cracked", said=said(29))
    assert "Do not ride" in words(look(frame))


def test_whom_to_phone_stands_there_where_the_works_names_a_number(frame, settings):
    place_hold("X1", reason="recall", said=said(29))
    assert "Ask where the frame was bought, or Tarnside Works" in words(look(frame))
    settings.OWNER_PHONE = "+44 1632 960 100"
    assert 'href="tel:+441632960100"' in look(frame).content.decode()


def test_a_line_more_stands_there_only_where_the_works_chose_it(frame, settings):
    assert "<dl" not in look(frame).content.decode()
    settings.PASSPORT_LINES = ["begun", "released", "shipped"]
    told = words(look(frame))
    assert "Begun 2 Mar 2026" in told
    assert re.search(r"Released 2 Mar 2026, checks on file: [1-9]", told)
    assert "Shipped 2 Mar 2026" in told


def test_it_names_no_person_no_lot_no_party_no_station_and_never_the_word(frame, settings):
    settings.PASSPORT_LINES = ["begun", "released", "shipped"]
    for language in LANGUAGES:
        # Without the token: it is drawn at random, and may hold any two signs side by side.
        told = look(frame, f"?in={language}").content.decode().replace(frame, "")
        assert NEVER_SAID.search(words(look(frame, f"?in={language}"))) is None
        for never in ("everybody", "Lienz Cycles", "R1", "FB1", "T-X1", "BOND-1", "STORE"):
            assert never not in told


@pytest.mark.parametrize(
    ("asks", "told"), [("de-AT,de;q=0.9", "Nicht fahren"), ("it", "Non usare"), ("fr", "Do not ride")]
)
def test_it_speaks_the_language_that_the_browser_asks_for_or_the_one_that_is_chosen(frame, asks, told):
    place_hold("X1", reason="recall", said=said(29))
    page = look(frame, headers={"accept-language": asks})
    assert told in words(page)
    assert "Accept-Language" in page["Vary"]
    assert "Nicht fahren" in words(look(frame, "?in=de", headers={"accept-language": asks}))


def test_every_sentence_of_it_can_be_said_in_each_language():
    pages = [*(sources.BASE / "templates" / "passport").glob("*.html"), sources.BASE / "templates" / "public.html"]
    assert len(pages) > 5
    assert {page.name: unmarked.unmarked_of_template(page.read_text(encoding="utf-8")) for page in pages} == {
        page.name: [] for page in pages
    }


def test_no_cookie_no_script_no_search_engine_and_nothing_kept_on_the_way(frame):
    page = look(frame)
    assert page.cookies == {}
    assert "Cookie" not in page["Vary"]
    assert "noindex" in page["X-Robots-Tag"]
    assert (page["Cache-Control"], page["Referrer-Policy"]) == ("no-store", "no-referrer")
    policy = dict(part.strip().split(" ", 1) for part in page["Content-Security-Policy"].split(";"))
    assert policy["default-src"] == policy["script-src"] == policy["connect-src"] == "'none'"
    assert policy["style-src"] == policy["form-action"] == "'self'"
    assert "<script" not in page.content.decode()


def test_it_is_the_same_page_for_every_role_and_for_none(frame):
    addresses = [f"/f/{frame}/", f"/f/{frame}/reported/", "/f/nobody/", "/01/09521234544081/21/X1"]
    shown = {address: Client().get(address).content for address in addresses}
    for role in Role.values:
        client = tablet(role)
        assert {address: client.get(address).content for address in addresses} == shown
        assert client.get(f"/f/{frame}/report/").status_code == 200


def test_a_code_that_was_replaced_or_closed_tells_nothing_of_the_frame(frame):
    newer = open_passport("X1", reason="label copied", said=said(28)).token
    gone = look(frame)
    assert gone.status_code == 410
    assert "X1" not in gone.content.decode().replace(frame, "")
    assert "This code counts no more" in words(gone)
    assert look(newer).status_code == 200
    close_passport("X1", reason="stolen", said=said(29))
    assert look(newer).status_code == 410
    with refuses("unknown"):
        close_passport("X1", reason="stolen", said=said(29.1))


def test_a_passport_is_opened_before_release_too_and_stays_the_same_through_it():
    builders.a_works(holds={})
    builders.a_finished_frame("X1")
    ahead = open_passport("X1", said=said(4))
    release_units(["X1"], said=said(5))
    assert Passport.objects.get() == ahead


def test_another_passport_says_why_and_only_a_unit_has_one(frame):
    with refuses("no-reason"):
        open_passport("X1", said=said(7))
    with refuses("wrong-kind"):
        open_passport("R1", said=said(7))
    with refuses("unknown"):
        open_passport("X9", said=said(7))
    with refuses("no-reason"):
        close_passport("X1", reason=" ", said=said(7))


def test_the_link_that_is_printed_is_answered_and_one_that_names_another_frame_is_not(frame):
    gtin = gtin_of("952123454", item_by_code("X1").part.pk)
    assert look(frame, f"01/{gtin}/21/X1").status_code == 200
    assert look(frame, f"01/{gtin}/21/X1?11=260302&utm=dealer").status_code == 200
    for other in (f"01/{gtin}/21/X2", f"01/{gtin}", "01/1/21/X1", "01/x"):
        assert look(frame, other).status_code == 404


def test_a_label_from_before_is_answered_alike_whether_there_is_such_a_frame_or_not(frame):
    gtin = gtin_of("952123454", item_by_code("X1").part.pk)
    there, other = (Client().get(f"/01/{gtin}/21/{serial}") for serial in ("X1", "X2"))
    assert there.status_code == other.status_code == 200
    assert there.content == other.content
    assert "This label opens no page of its frame" in words(there)
    assert read_scan(f"https://id.tarnside.example/01/{gtin}/21/X1").code == "X1"


def test_a_page_costs_as_many_queries_however_many_holds_and_parts(frame, settings):
    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert look(frame).status_code == 200
        return len(queries)

    few = cost()
    for n in range(5):
        place_hold("X1", reason="recall", said=said(28 + n / 10))
    assert cost() == few <= 8
    settings.PASSPORT_LINES = ["begun", "released", "shipped"]
    assert cost() <= few + 4


def test_the_dark_light_of_the_public_pages_is_the_houses():
    def dark(path: str, start: str) -> dict[str, str]:
        text = (sources.BASE / path).read_text().split(start, 1)[1].split("}", 1)[0]
        return dict(re.findall(r"(--[\w-]+|color-scheme):\s*([^;]+);", text))

    ours = dark("records/release/static/release/public.css", ':root[data-light="readers"] {')
    assert ours == dark("plant/static/plant/tokens.css", ':root[data-light="dark"] {')
    assert len(ours) > 20


def at_the_desk(role: str, name: str = "labels:passport", **told: str):
    client, address = tablet(role), reverse(name, args=["X1"])
    form = client.get(address).context["form"]
    sent = {name: str(form.initial[name]) for name in ("key", "drawn_at")} | told
    return client.post(address, sent, follow=True).content.decode()


def test_at_the_desk_it_is_opened_replaced_with_a_reason_and_closed(clock_at):
    builders.a_works(holds={})
    builders.a_finished_frame("X1")
    clock_at(moment(6))
    assert "X1 has a page for its owner" in at_the_desk("stores")
    first = Passport.objects.get()
    assert "Fill this in." in at_the_desk("stores")
    assert "Its old code opens no page any more" in at_the_desk("review", reason="copied")
    assert look(first.token).status_code == 410
    assert "The page of X1 is closed" in at_the_desk("review", "labels:passport_close", reason="stolen")
    assert not Passport.objects.standing().exists()
    for role in ("manager", "auditor"):
        page = tablet(role).get(reverse("labels:passport", args=["X1"]))
        assert (page.status_code, b'name="key"' in page.content) == (200, False)
    assert tablet("review").get(reverse("labels:passport", args=["R1"])).status_code == 404


def test_the_desk_says_why_there_is_no_label_for_its_owner_and_hands_it_over(frame, settings):
    address = reverse("labels:passport", args=["X1"])
    assert "print that" in tablet("stores").get(address).content.decode()
    print_label("X1", said=said(7))
    assert "OWNER_ADDRESS is not set" in tablet("stores").get(address).content.decode()
    settings.OWNER_ADDRESS = "https://id.tarnside.example"
    page = tablet("stores").get(address).content.decode()
    file = unescape(re.search(r'href="(/label/file/[^"]+)"', page)[1])
    assert tablet("stores").get(file).headers["Content-Type"] == "application/pdf"
