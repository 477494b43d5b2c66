"""What is somebody's own, on the floor: language, PIN and password in its frame, by the forms of the desk."""

import pytest
from django.contrib.auth.hashers import check_password
from django.test import Client
from django.urls import reverse

from plant.people.actions import set_language, set_password, set_pin
from plant.people.middleware import BY_TABLET, DEVICE
from plant.people.models import BadgeChange
from plant.people.tablets import FREE_GUESSES
from tests import builders
from tests.builders import a_person, moment, said
from tests.keys import Key, a_tablet
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
OWN, PIN, PASSWORD = (reverse(f"floor:{name}") for name in ("own", "own_pin", "own_password"))
STATIONS = reverse("floor:station_list")


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(5))
    set_pin(a_person("operator"), "2749", said=said(1, by="operator"))


def by_pin(badge: str = "operator") -> Client:
    """In on a registered tablet by badge and PIN, as the door there leaves a session."""
    client = tablet(badge)
    session = client.session
    session.update({DEVICE: a_tablet(key=Key()).code, BY_TABLET: True})
    session.save()
    return client


def drawn(client: Client, address: str) -> dict[str, str]:
    form = client.get(address).context["form"]
    return {field: str(form.initial[field]) for field in ("key", "drawn_at")}


def press(client: Client, address: str, **told: str):
    return client.post(address, drawn(client, address) | told)


def test_the_pages_of_the_desk_lead_somebody_of_the_floor_to_those_of_the_floor():
    for name, address in (("own_language", OWN), ("own_pin", PIN), ("own_password", PASSWORD)):
        for client in (tablet("operator"), by_pin("lead")):
            assert client.get(reverse(f"people:{name}")).headers["Location"] == address
        assert "<h1>" in tablet("lead").get(reverse(f"people:{name}")).text


def test_they_speak_the_language_of_the_badge_and_a_press_changes_it():
    set_language(a_person("operator"), "it", said=said(2, by="operator"))
    client = tablet("operator")
    for address, words in ((OWN, "Lingua"), (PIN, "Il nuovo PIN"), (PASSWORD, "La nuova password")):
        page = client.get(address).text
        assert '<html lang="it"' in page
        assert words in page
        assert "fbar" in page
    changed = press(client, OWN, language="de")
    assert (changed.headers["Location"], a_person("operator").language) == (OWN, "de")
    assert "Die Fertigung spricht ab jetzt diese Sprache." in client.get(OWN).text


def test_on_a_tablet_the_pin_so_far_signs_the_new_one_and_a_second_press_is_answered_alike():
    client = by_pin()
    told = drawn(client, PIN) | {"new": "6183", "again": "6183", "password": "2749"}
    for _ in range(2):  # by the second press the PIN so far is another one
        assert client.post(PIN, told).headers["Location"] == OWN
    assert check_password("6183", a_person("operator").pin)
    assert BadgeChange.objects.filter(person=a_person("operator"), what=BadgeChange.What.PIN).count() == 2


def test_a_wrong_pin_counts_there_as_at_the_door():
    client = by_pin()
    told = {"new": "6183", "again": "6183"}
    for n in range(FREE_GUESSES):
        assert "This is not your PIN so far." in press(client, PIN, password=f"111{n}", **told).text
    assert "Too many wrong PINs. Wait 1 min" in press(client, PIN, password="2749", **told).text
    assert check_password("2749", a_person("operator").pin)


def test_a_pin_sets_no_password():
    page = press(by_pin(), PASSWORD, new="rushes by the tarn", again="rushes by the tarn", password="2749").text
    assert "This is not the password of your badge. Nothing was kept." in page


def test_the_second_press_of_somebody_else_is_none():
    told = drawn(lead := by_pin("lead"), PIN) | {"new": "6183", "again": "6183", "password": "2749"}
    by_pin("operator").post(PIN, told)
    assert "This is not your PIN so far." in lead.post(PIN, told).text


def test_where_there_is_no_password_none_is_asked_for():
    person = a_person("operator")
    person.set_unusable_password()
    person.save()
    page = tablet("operator").get(OWN).text
    assert "You have no password. The manager sets the first one." in page
    assert PASSWORD not in page


def test_what_somebody_else_set_is_to_be_set_anew_and_the_first_page_says_so_until_it_is():
    client = tablet("operator")
    assert "of your own" not in client.get(STATIONS).text
    set_pin(a_person("operator"), "8305", said=said(3, by="manager"))
    assert "Set a PIN of your own" in client.get(STATIONS).text
    set_password(a_person("operator"), "rushes by the tarn", said=said(3.1, by="manager"))
    client = tablet("operator")
    assert "Set a PIN and a password of your own" in client.get(STATIONS).text
    set_pin(a_person("operator"), "6183", said=said(4, by="operator"))
    assert "Set a password of your own" in client.get(STATIONS).text
    set_password(a_person("operator"), "reeds by the tarn", said=said(4.1, by="operator"))
    assert "of your own" not in tablet("operator").get(STATIONS).text
