"""Coming in and going out, and the areas of a role."""

import re
from unittest.mock import patch

import pytest
from django.contrib.auth.hashers import get_hasher
from django.test import Client
from django.urls import reverse

from plant.people.actions import add_person, close_badge
from plant.people.models import Person
from records.ledger.clock import clock
from tests import worlds

pytestmark = [pytest.mark.usefixtures("straight_week"), pytest.mark.django_db]
SIGN_IN = "/sign/in/"
WITHOUT_TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="[^"]*"')


@pytest.fixture(autouse=True)
def works():
    worlds.a_straight_week()


def sign_in(badge: str, password: str = worlds.PASSWORD) -> object:
    return Client().post(SIGN_IN, {"username": badge, "password": password})


@pytest.mark.parametrize(("badge", "begins"), [("Review", "quality:bench"), ("stores", "items:stock")])
def test_badge_and_password_lead_to_where_the_role_begins_in_any_case_of_the_badge(badge, begins):
    assert sign_in(badge).headers["Location"] == reverse(begins)


def test_who_has_several_roles_begins_at_the_start():
    with clock.at(worlds.AFTER):
        add_person("both", name="Both", roles=["review", "stores"], password=worlds.PASSWORD, said=worlds.by())
    assert sign_in("both").headers["Location"] == reverse("home")


def test_a_wrong_password_is_told_in_words():
    assert b"belong together" in sign_in("review", "wrong").content


def test_nobody_learns_at_the_door_whether_a_badge_is_there():
    with clock.at(worlds.AFTER):
        add_person("bare", name="Bare", roles=["review"], password="", said=worlds.by())
        close_badge(Person.objects.get(badge="stores"), said=worlds.by())
    hasher, told = type(get_hasher()), []
    for badge in ("review", "bare", "stores", "nobody"):
        with patch.object(hasher, "encode", autospec=True, side_effect=hasher.encode) as made:
            answer = sign_in(badge, "wrong")
        page = answer.text.replace(f'value="{badge}"', "")
        told.append((answer.status_code, WITHOUT_TOKEN.sub("", page), made.call_count))
    assert len(set(told)) == 1
    assert told[0][2] == 1  # to hash is what takes time; to try one hashes it too


def test_the_program_itself_can_never_come_in():
    program = Person.objects.program()
    program.set_password(worlds.PASSWORD)
    program.save()
    assert sign_in("program").status_code == 200


def test_the_eighth_wrong_password_is_answered_with_a_wait():
    answers = [sign_in(badge, "wrong").status_code for badge in ("review", "Review", "REVIEW", " review") * 2]
    assert answers == [200] * 7 + [429]
    waiting = sign_in("review")
    assert waiting.status_code == 429
    assert b"Too many wrong passwords" in waiting.content
    assert sign_in("lead").status_code == 302


def test_going_out_needs_a_press():
    client = worlds.signed_in("review")
    assert client.get("/sign/out/").status_code == 405
    client.post("/sign/out/")
    assert client.get("/").status_code == 302


def test_the_box_for_codes_stands_only_where_the_trace_is_open():
    assert 'id="seek"' in worlds.signed_in("review").get("/").content.decode()
    assert 'id="seek"' not in worlds.signed_in("operator").get("/").content.decode()


def test_an_auditor_is_told_to_read_and_not_to_change():
    assert "You can read, not change." in worlds.signed_in("auditor").get("/").content.decode()
    assert "You can read, not change." not in worlds.signed_in("manager").get("/").content.decode()


def test_an_operator_is_not_shown_the_trace():
    assert "Trace" in worlds.signed_in("review").get("/").content.decode()
    assert "Trace" not in worlds.signed_in("operator").get("/").content.decode()


@pytest.mark.parametrize(
    ("address", "status", "words"),
    [
        ("/nowhere/", 404, "Look at the code again.<"),  # this role has no box to scan in
        (
            "/trace/",
            403,
            "Trace is for a shift lead, Stores, Review, an engineer, the manager or an auditor: ask there.",
        ),
        ("/stores/receive/", 403, "“Lot received” is for Stores: ask there. Nothing was changed."),
    ],
)
def test_what_is_not_there_and_what_is_not_yours_is_told_in_words(address, status, words):
    response = worlds.signed_in("operator").get(address)
    assert response.status_code == status
    assert words in response.content.decode()
