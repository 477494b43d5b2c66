"""Coming in on a tablet of the works: by PIN or by the key made there, and what such a session opens."""

import json
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from plant.people.actions import close_badge, open_badge, set_pin
from plant.people.models import Device, DeviceContact, DeviceEnded, PersonKey
from plant.people.tablets import fresh_line, sign_in_message
from records.floor.sitting import check_sitting, sitting_of
from records.ledger.acts import act
from tests import builders
from tests.builders import a_person, moment, said
from tests.keys import Key, a_key, a_tablet
from tests.records.floor.told import ADDRESS, entry, send, tablet

pytestmark = pytest.mark.django_db
SIGN = "/floor/sign/"
PIN = "2749"


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(5))
    set_pin(a_person("operator"), PIN, said=said(1, by="operator"))


@pytest.fixture
def key() -> Key:
    return Key()


@pytest.fixture
def device(key) -> Device:
    return a_tablet(key=key)


def lock_out(device: Device) -> None:
    with act("tablet registered", said(6)) as a:
        a.write(DeviceEnded(device=device, reason="lost", at=moment(6)))


def come(
    client: Client, device: Device, key: Key, *, badge: str = "operator", change: dict | None = None, **more: object
):
    line = client.get(SIGN, {"device": device.code}).json()["line"]
    proof = key.signs(sign_in_message(device.code, badge, line))
    sent = {"device": device.code, "badge": badge, "line": line, "proof": proof} | more | (change or {})
    return client.post(SIGN, json.dumps(sent), content_type="application/json")


def test_a_pin_opens_the_floor_on_a_registered_tablet(device, key):
    client = Client()
    answer = come(client, device, key, pin=PIN)
    assert (answer.status_code, answer.json()["badge"]) == (200, "operator")
    assert client.get(reverse("floor:station", args=["MOULD-1"])).status_code == 200
    assert check_sitting(answer.json()["sitting"], a_person("operator"), device.code, moment(6)) == moment(5)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"pin": "1111"}, "wrong-pin"),
        ({}, "pin-first"),
        ({"pin": PIN, "proof": "?"}, "not-this-tablet"),
        ({"pin": PIN, "device": "TB-26-000009-9"}, "not-registered"),
        ({"pin": PIN, "badge": "nobody"}, "not-this-tablet"),
        ({"pin": PIN, "badge": "lead"}, "not-this-tablet"),
    ],
)
def test_what_does_not_fit_is_told_and_opens_nothing(device, key, change, code):
    client = Client()
    answer = come(client, device, key, change=change)
    assert (answer.status_code, answer.json()["code"]) == (403, code)
    assert client.get(reverse("floor:station_list")).status_code == 302


def test_a_badge_that_nobody_has_is_answered_like_a_wrong_pin_and_like_one_without_a_key(device, key):
    close_badge(a_person("stores"), said=said(5))
    for more in ({"pin": "1111"}, {}):
        answers = {come(Client(), device, key, badge=badge, **more).text for badge in ("operator", "stores", "nobody")}
        assert len(answers) == 1


def test_a_pin_session_does_not_open_the_desk(device, key):
    client = Client()
    set_pin(a_person(), PIN, said=said(1))
    come(client, device, key, badge=builders.ALL_ROLES, pin=PIN)
    assert client.get(reverse("floor:station_list")).status_code == 200
    answer = client.get(reverse("quality:bench"))
    assert answer.status_code == 403
    assert "Sign in with your password for this page." in answer.text


def come_by_key(device: Device, key: Key, own: Key, line: str, badge: str = "operator"):
    client = Client()
    fresh = client.get(SIGN, {"device": device.code}).json()["line"]
    message = sign_in_message(device.code, badge, fresh)
    told = {"line": fresh, "proof": key.signs(message), "signer": own.public, "signature": own.signs(message)}
    sent = {"device": device.code, "badge": badge, "sitting": line} | told
    return client.post(SIGN, json.dumps(sent), content_type="application/json")


def test_the_key_that_somebody_made_there_comes_in_for_a_shift_after_the_pin(device, key, clock_at):
    own, line = a_key("operator", device), sitting_of(a_person("operator"), device.code)
    assert come_by_key(device, key, own, line).status_code == 200
    again = come_by_key(device, key, own, line).json()["sitting"]
    assert check_sitting(again, a_person("operator"), device.code, moment(5)) == moment(5)
    clock_at(moment(22))
    late = come_by_key(device, key, own, line)
    assert (late.status_code, late.json()["code"]) == (403, "other-person")


def test_nobody_comes_in_by_the_key_of_another_person(device, key):
    own, lead = a_key("operator", device), sitting_of(a_person("lead"), device.code)
    assert come_by_key(device, key, own, lead, badge="lead").json()["code"] == "pin-first"


def test_a_closed_badge_comes_in_by_nothing_and_opened_again_by_its_pin_alone(device, key):
    own, line = a_key("operator", device), sitting_of(a_person("operator"), device.code)
    close_badge(a_person("operator"), said=said(5))
    assert come(Client(), device, key, pin=PIN).json()["code"] == "wrong-pin"
    open_badge(a_person("operator"), said=said(5))
    assert come_by_key(device, key, own, line).json()["code"] == "pin-first"
    assert come(Client(), device, key, pin=PIN).status_code == 200


def test_whoever_only_signs_beside_does_not_come_in(device, key):
    client = Client()
    answer = come(client, device, key, pin=PIN, beside=True)
    assert answer.json()["badge"] == "operator"
    assert client.get(reverse("floor:station_list")).status_code == 302


def test_a_key_is_taken_from_whoever_is_signed_in_on_the_tablet(device, key):
    client, own = tablet("operator"), Key()
    line = fresh_line(device.code)
    sent = {"device": device.code, "line": line, "public_key": own.public}
    sent["proof"] = key.signs(sign_in_message(device.code, "operator", line))
    for _ in range(2):
        answer = client.post("/floor/key/", json.dumps(sent), content_type="application/json")
        assert answer.json() == {"taken": own.public}
    assert PersonKey.objects.get().person.badge == "operator"
    other = tablet("lead").post("/floor/key/", json.dumps(sent), content_type="application/json")
    assert other.json()["code"] == "not-this-tablet"


def test_a_tablet_is_registered_on_its_page_and_told_its_number():
    client, key = tablet("lead"), Key()
    sent = {"key": str(uuid4()), "drawn_at": moment(5).isoformat(), "station": "BOND-1", "public_key": key.public}
    page = client.post("/floor/tablet/", sent, follow=True)
    assert 'data-tablet="TB-26-000001-5"' in page.text
    assert tablet("operator").get("/floor/tablet/").status_code == 403


@pytest.mark.parametrize("address", [ADDRESS, "/floor/photos/"])
def test_a_locked_tablet_signs_nobody_in_and_ends_its_sessions(device, key, address):
    client = Client()
    come(client, device, key, pin=PIN)
    lock_out(device)
    assert client.post(address, '{"entries": []}', content_type="application/json").json()["code"] == "locked-out"
    assert client.get(reverse("floor:station_list")).status_code == 302
    assert come(client, device, key, pin=PIN).json()["code"] == "locked-out"


def test_a_password_session_ends_with_its_tablet_too(device):
    client = tablet("operator")
    assert client.get("/floor/snapshot/", {"device": device.code}).json()["tablet"]["station"] == "MOULD-1"
    lock_out(device)
    assert client.get(reverse("floor:station_list")).status_code == 302


def test_what_a_locked_tablet_sends_is_kept_and_marked(device):
    builders.a_front("F1")
    sent = a_key("operator", device).entry(
        entry("step", unit="F1", operation="vent") | {"device": device.code, "by": "operator"}
    )
    lock_out(device)
    (refused,) = send(tablet("lead"), sent)
    assert (refused["outcome"], refused["code"]) == ("refused", "tablet-lost")
    (kept,) = send(tablet("lead"), sent | {"done": True})
    assert (kept["outcome"], kept["flags"]) == ("flagged", ["tablet-lost"])
    assert kept["words"] == f"Kept, and marked because it came from {device.code}, which is locked out."


def test_each_contact_notes_what_the_tablet_tells_of_itself(device):
    told = {"device": device.code, "station": "MOULD-1", "unsent": 4, "oldest_at": moment(4).isoformat(), "guesses": 2}
    tablet().post(ADDRESS, json.dumps({"entries": [], "tablet": told}), content_type="application/json")
    heard = DeviceContact.objects.get()
    assert (heard.unsent, heard.oldest_at, heard.guesses, heard.at) == (4, moment(4), 2, moment(5))
    bad = tablet().post(ADDRESS, json.dumps({"entries": [], "tablet": [7]}), content_type="application/json")
    assert bad.status_code == 200


def test_a_tablet_takes_along_who_is_on_which_list_and_when_it_asks_who_is_there(device):
    told = tablet().get("/floor/snapshot/", {"device": device.code}).json()
    assert told["still"] == {"asks_s": 240, "badge_s": 900}
    people = {person["badge"]: person for person in told["people"]}
    assert (people["operator"]["pin"] > 0, people["lead"]["pin"]) == (True, 0)
    assert people["operator"]["qualified"] == []
