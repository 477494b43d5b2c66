"""The door before a badge is known: it speaks the language of the last badge on this device, or the one pressed."""

import json

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from plant.equipment.actions import register_tablet
from plant.people.actions import set_language, set_pin
from plant.people.models import Person
from plant.people.tablets import sign_in_message
from tests import worlds
from tests.keys import Key

pytestmark = [pytest.mark.usefixtures("straight_week"), pytest.mark.django_db]
DOOR = "/sign/in/"


@pytest.fixture(autouse=True)
def works():
    worlds.a_straight_week()
    set_language(Person.objects.get(badge="operator"), "it", said=worlds.by("operator"))


def sign_in(client: Client, badge: str = "operator", password: str = worlds.PASSWORD):
    return client.post(DOOR, {"username": badge, "password": password})


def test_after_somebody_came_in_the_door_speaks_their_language_on_this_device_alone():
    client = Client()
    assert "Who is there?" in client.get(DOOR).text
    sign_in(client)
    client.post("/sign/out/")
    page = client.get(DOOR).text
    assert '<html lang="it"' in page
    assert "Chi c’è?" in page
    assert "Who is there?" in Client().get(DOOR).text


def test_one_press_at_the_door_chooses_the_language_and_the_page_that_was_asked_for_stays():
    client = Client()
    page = client.get(DOOR, {"next": "/floor/?a=b&c"}).text
    assert 'href="?language=de&amp;next=/floor/%3Fa%3Db%26c" lang="de"' in page
    assert "Wer ist da?" in client.get(DOOR, {"language": "de", "next": "/floor/"}).text
    assert "Wer ist da?" in client.get(DOOR).text
    assert 'lang="de" aria-current="true"' in client.get(DOOR).text


@pytest.mark.parametrize("named", ["xx", "../de", ""])
def test_a_language_that_the_floor_does_not_speak_changes_nothing(named):
    client = Client()
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = named
    answer = client.get(DOOR, {"language": named})
    assert "Who is there?" in answer.text
    assert settings.LANGUAGE_COOKIE_NAME not in answer.cookies


def test_a_wrong_password_and_the_wait_are_told_in_the_language_of_the_door():
    client = Client()
    client.get(DOOR, {"language": "de"})
    answers = [sign_in(client, password="wrong") for _ in range(8)]
    assert "Ausweis und Passwort gehören nicht zusammen." in answers[0].text
    assert answers[-1].status_code == 429
    assert "Zu viele falsche Passwörter." in answers[-1].text


def test_whoever_chooses_another_language_for_themselves_is_met_in_it_at_the_door():
    client = worlds.signed_in("operator")
    form = client.get(reverse("floor:own")).context["form"]
    told = {name: form[name].value() for name in ("key", "drawn_at")}
    client.post(reverse("floor:own"), told | {"language": "de"})
    client.post("/sign/out/")
    assert "Wer ist da?" in client.get(DOOR).text


def test_a_tablet_is_answered_as_it_speaks_and_keeps_the_language_of_whoever_came_in():
    key, client = Key(), Client()
    device = register_tablet("Bench", public_key=key.public, said=worlds.by("lead"))
    set_pin(Person.objects.get(badge="operator"), "2749", said=worlds.by("operator"))
    line = client.get("/floor/sign/", {"device": device.code}).json()["line"]
    sent = {"device": device.code, "badge": "operator", "line": line, "speaks": "de"}
    sent["proof"] = key.signs(sign_in_message(device.code, "operator", line))
    wrong = client.post("/floor/sign/", json.dumps(sent | {"pin": "1111"}), content_type="application/json")
    assert wrong.json()["words"].startswith("Ausweis und PIN gehören nicht zusammen.")
    beside = client.post(
        "/floor/sign/", json.dumps(sent | {"pin": "2749", "beside": True}), content_type="application/json"
    )
    assert settings.LANGUAGE_COOKIE_NAME not in beside.cookies
    client.post("/floor/sign/", json.dumps(sent | {"pin": "2749"}), content_type="application/json")
    client.post("/sign/out/")
    assert "Chi c’è?" in client.get(DOOR).text


def test_the_words_of_a_tablet_are_there_before_a_badge_is():
    told = Client().get("/floor/words/").json()
    assert told["it"][told["sentences"].index("PIN of %(name)s")] == "PIN di %(name)s"
