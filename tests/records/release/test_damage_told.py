"""Damage told by whoever has a frame: what is taken, what is put right first, how often, and where Review reads it."""

import re
from datetime import timedelta
from html import unescape

import pytest
import zxingcpp
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from plant.papers.label import DENSITIES, label_pdf
from plant.people.models import Person
from records.items.models import Hold
from records.ledger.clock import clock
from records.ledger.models import Entry, EntryBody, Photo, PrivateWords
from records.ledger.photographs import photograph
from records.ledger.photos import place_of
from records.quality.actions import MOST_REPORTS, report_damage
from records.quality.models import Nonconformance, OwnerReport
from records.release.actions import close_passport, print_label, release_units
from records.release.labels import label_of
from records.release.models import Passport
from records.release.public import MISSES, PAGES, REPORTS
from records.release.reporting import MOST_OF_PHOTO, MOST_SENT
from tests import builders
from tests.builders import moment, said
from tests.papers import words_of
from tests.photos import a_picture
from tests.plant.papers.test_label import printed
from tests.records.floor.told import tablet
from tests.refusing import refuses

pytestmark = pytest.mark.django_db
SEEN = "A crack at the seat tube, two fingers wide."


@pytest.fixture(autouse=True)
def nobody_asked():
    for pace in (PAGES, MISSES, REPORTS):
        pace.forget()


def ticket_of(token: str) -> str:
    page = Client().get(f"/f/{token}/report/").content.decode()
    return unescape(re.search(r'name="ticket" value="([^"]+)"', page)[1])


def send(token: str, *, after: float = 60, ticket: str = "", **told: object):
    """Open the page, write, and press the key so many seconds later."""
    ticket = ticket or ticket_of(token)
    with clock.at(clock.now() + timedelta(seconds=after)):
        return Client().post(f"/f/{token}/report/", {"ticket": ticket, "words": SEEN, **told})


def text(response) -> str:
    return unescape(response.content.decode())


def test_what_is_told_is_kept_as_a_departure_that_waits_in_review(token):
    sent = send(token, contact="rider@example.org")
    assert sent.headers["Location"] == f"/f/{token}/reported/"
    assert sent.cookies == {}
    departure = Nonconformance.objects.get()
    assert (departure.item.code, departure.defect, str(departure.words)) == ("X1", "reported", SEEN)
    assert departure.entry.by == Person.objects.program()
    assert departure.entry.kind == "damage reported"
    bench = text(tablet("review").get(reverse("quality:bench")))
    assert "damage told from outside" in bench
    assert SEEN in bench
    assert "whoever has it" in bench
    assert not Hold.objects.exists()  # nobody outside holds a frame


def test_whom_to_answer_is_read_by_those_who_decide_and_stands_in_no_payload(token):
    send(token, contact="rider@example.org")
    page = reverse("quality:departure", args=[Nonconformance.objects.get().code])
    assert "rider@example.org" in text(tablet("review").get(page))
    for role in ("engineer", "manager", "auditor", "lead", "stores"):
        shown = text(tablet(role).get(page))
        assert "rider@example.org" not in shown
        assert "For Review to read" in shown
    body = EntryBody.objects.get(entry=Entry.objects.get(kind="damage reported")).payload
    assert "rider@example.org" not in body
    assert SEEN not in body
    assert OwnerReport.objects.get().contact.text == "rider@example.org"


def test_a_photo_is_kept_bare_and_shown_in_review(token):
    picture = SimpleUploadedFile("crack.jpg", a_picture(), "image/jpeg")
    assert send(token, photo=picture).status_code == 302
    photo = Photo.objects.get()
    assert place_of(photo.sha256).exists()
    page = tablet("review").get(reverse("quality:departure", args=[Nonconformance.objects.get().code]))
    assert reverse("photo", args=[photo.sha256]) in text(page)


def test_what_is_no_picture_or_too_large_is_told_and_what_was_written_stays(token, monkeypatch):
    no_picture = send(token, photo=SimpleUploadedFile("crack.jpg", b"%PDF-1.7", "image/jpeg"), contact="R")
    assert "This is no picture that can be kept" in text(no_picture)
    assert "Choose the photo once more" in text(no_picture)
    assert SEEN in text(no_picture)
    large = send(token, photo=SimpleUploadedFile("crack.jpg", b"\xff" * (MOST_OF_PHOTO + 1), "image/jpeg"))
    assert "larger than 10 MB" in text(large)
    unread = Client().post(
        f"/f/{token}/report/", b"", content_type="multipart/form-data; boundary=x", CONTENT_LENGTH=str(MOST_SENT + 1)
    )
    assert unread.status_code == 413
    assert "larger than 10 MB" in text(unread)
    assert not Nonconformance.objects.exists()
    assert not PrivateWords.objects.filter(text=SEEN).exists()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"words": "  "}, "Write what you see, and where."),
        ({"words": "x" * 4001}, "4000"),
        ({"contact": "x" * 201}, "200"),
        ({"website": "https://buy.example"}, "not sent by hand"),
        ({"after": 1}, "not sent by hand"),
        ({"after": 90_000}, "open for too long"),
        ({"ticket": "made-up"}, "open for too long"),
    ],
)
def test_what_can_not_be_taken_is_told_and_goes_in_at_the_next_press(token, changed, words):
    answer = send(token, **changed)
    assert answer.status_code == 200
    assert words in text(answer)
    assert not Nonconformance.objects.exists()
    anew = unescape(re.search(r'name="ticket" value="([^"]+)"', answer.content.decode())[1])
    assert send(token, ticket=anew, after=changed.get("after", 60) + 60).status_code == 302


def test_a_ticket_is_good_for_its_own_frame_alone(token):
    builders.a_finished_frame("X2", hours=2)
    release_units(["X2"], said=said(5))
    other = Passport.objects.get(unit__state__code="X2").token
    assert "open for too long" in text(send(other, ticket=ticket_of(token)))
    assert not Nonconformance.objects.exists()


def test_a_second_press_is_the_same_report_and_another_one_from_the_same_page_another(token):
    ticket = ticket_of(token)
    for _ in range(2):
        assert send(token, ticket=ticket).status_code == 302
    assert Nonconformance.objects.count() == 1
    send(token, ticket=ticket, words="And a noise.")
    assert Nonconformance.objects.count() == 2


def test_a_day_takes_so_many_of_one_frame_and_an_hour_so_many_from_one_address(token, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path  # photos of other tests stay
    for n in range(MOST_REPORTS):
        send(token, words=f"noise {n}")
    picture = a_picture(colour="navy")
    more = send(token, photo=SimpleUploadedFile("crack.jpg", picture, "image/jpeg"))
    assert "reported several times today" in text(more)
    assert not place_of(photograph(picture).sha256).exists()
    assert Nonconformance.objects.count() == MOST_REPORTS
    while REPORTS.lets("127.0.0.1"):
        pass
    assert send(token).status_code == 429
    with clock.at(moment(60)), refuses("no-reason"):
        report_damage("X1", words=" ", said=said(60, by=Person.objects.program()))
    with clock.at(moment(60)):
        assert report_damage("X1", words=SEEN, said=said(60, by=Person.objects.program())).code


def test_nobody_of_the_works_tells_in_the_name_of_an_owner(token):
    with refuses("not-allowed"):
        report_damage("X1", words=SEEN, said=said(29))


def test_a_page_that_is_closed_or_was_never_there_takes_no_report(token):
    ticket = ticket_of(token)
    assert Client().post("/f/0000/report/", {"words": SEEN}).status_code == 404
    close_passport("X1", reason="stolen", said=said(29))
    assert Client().get(f"/f/{token}/report/").status_code == 410
    assert send(token, ticket=ticket).status_code == 410
    assert Client().put(f"/f/{token}/report/").status_code == 405
    assert not Nonconformance.objects.exists()


@pytest.mark.parametrize("dots", DENSITIES)
def test_the_printed_symbol_is_decoded_to_a_link_that_is_answered(token, dots, settings, tmp_path):
    settings.COMPANY_PREFIX, settings.OWNER_ADDRESS = "952123454", "https://id.tarnside.example"
    file = label_pdf(label_of(print_label("X1", said=said(7)), for_owner=True), dots)
    assert "X1" in words_of(file)
    (found,) = zxingcpp.read_barcodes(printed(file, dots, tmp_path))
    link = found.text
    assert link.startswith(f"https://id.tarnside.example/f/{token}/01/")
    page = Client().get(link.removeprefix("https://id.tarnside.example"))
    assert page.status_code == 200
    assert "X1" in text(page)


def test_whom_to_answer_is_erased_by_the_manager_and_what_was_told_stays(token):
    send(token, contact="rider@example.org")
    code = Nonconformance.objects.get().code
    client, address = tablet("manager"), reverse("quality:contact_erase", args=[code])
    form = client.get(address).context["form"]
    sent = {name: str(form.initial[name]) for name in ("key", "drawn_at")} | {"reason": "asked"}
    assert client.post(address, sent).status_code == 302
    assert not PrivateWords.objects.filter(text__contains="rider@").exists()
    page = text(tablet("review").get(reverse("quality:departure", args=[code])))
    assert "(erased)" in page
    assert SEEN in page
