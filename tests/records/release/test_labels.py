"""The page of a label: the first one printed, another with its reason, the file, and the scan back."""

import pytest
from django.urls import reverse

from records.items.queries import item_by_code
from records.release.labels import label_of, prints_of
from tests import builders
from tests.papers import words_of
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(builders.moment(5))


def press(code: str, **told: str):
    client, address = tablet("stores"), reverse("labels:label", args=[code])
    form = client.get(address).context["form"]
    return client.post(address, {name: str(form.initial[name]) for name in ("key", "drawn_at")} | told)


def test_the_first_label_needs_no_reason_and_its_file_comes_at_once():
    sent = press("F1", dots="300")
    response = tablet("stores").get(sent.headers["Location"])
    assert response.headers["Content-Type"] == "application/pdf"
    assert "F1" in words_of(response.content)
    (printed,) = prints_of(item_by_code("F1"))
    assert label_of(printed).message == b"[)>\x1e06\x1dSF1\x1d1POSIER-F\x1dZ1\x1e\x04"


def test_another_label_says_why_and_carries_its_number():
    press("F1", dots="203")
    assert "Fill this in." in press("F1", dots="203").content.decode()
    press("F1", dots="203", reason="torn")
    assert [(row.copy, row.reason) for row in prints_of(item_by_code("F1"))] == [(1, ""), (2, "torn")]


def test_the_label_of_a_lot_says_until_when_it_is_good():
    press("R1", dots="203")
    (printed,) = prints_of(item_by_code("R1"))
    told = label_of(printed)
    assert told.message.startswith(b"[)>\x1e06\x1d1TR1\x1d")
    assert not told.has_figure


def test_a_label_scanned_back_opens_the_page_of_its_thing():
    press("R1", dots="203")
    (printed,) = prints_of(item_by_code("R1"))
    scanned = tablet("stores").get(reverse("trace:find"), {"code": label_of(printed).message.decode()})
    assert scanned.headers["Location"] == reverse("trace:unit", args=["R1"])


@pytest.mark.parametrize(
    ("copy", "words"),
    [
        (1, "That is label 1 of F1; label 2 was printed after it. Take the old one off."),
        (2, ""),
        (3, "Label 3 of F1 was never printed here. Find out where it came from."),
    ],
)
@pytest.mark.parametrize(("name", "args"), [("trace:find", []), ("floor:station", ["TRIM-1"])])
def test_an_old_label_is_named_when_it_is_scanned_and_one_that_was_never_printed(name, args, copy, words):
    press("F1", dots="203")
    press("F1", dots="203", reason="torn")
    symbol = f"[)>\x1e06\x1dSF1\x1d1POSIER-F\x1dZ{copy}\x1e\x04"
    client = tablet()
    page = client.get(reverse(name, args=args), {"code": symbol}, follow=True)
    assert "F1" in page.redirect_chain[-1][0]
    assert [str(said) for said in page.context["messages"]] == ([words] if words else [])


def test_what_no_printer_has_and_what_is_not_on_file_is_not_found():
    press("R1", dots="203")
    (printed,) = prints_of(item_by_code("R1"))
    address = reverse("labels:file", args=[printed.pk])
    assert tablet("stores").get(address, {"dots": "150"}).status_code == 404
    assert tablet("stores").get(reverse("labels:label", args=["R99"])).status_code == 404
