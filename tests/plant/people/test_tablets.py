"""Tablets of the works: registered by their key, a PIN that counts there alone, and guesses that are limited."""

from datetime import timedelta
from time import time
from unittest.mock import patch

import pytest
from django.contrib.auth.hashers import get_hasher
from django.db import connection
from django.test.utils import CaptureQueriesContext

from plant.equipment.actions import register_tablet
from plant.people.actions import close_badge, make_key, open_badge, set_password, set_pin
from plant.people.models import DeviceContact, PersonKey, PinGuess
from plant.people.tablets import (
    WRONG,
    check_proof,
    fresh_line,
    note_contact,
    person_by_pin,
    pin_revision,
    sign_in_message,
    tablet_by_code,
)
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from tests import builders
from tests.builders import a_person, moment, said
from tests.keys import Key, a_key, a_tablet, told
from tests.records.ledger.book import in_threads

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(5))


def test_tablets_are_numbered_by_the_house_and_named_by_station():
    assert [a_tablet().code, a_tablet("BOND-1").code] == ["TB-26-000001-5", "TB-26-000002-3"]
    assert tablet_by_code("TB-26-000002-3").station == "BOND-1"


@pytest.mark.parametrize(
    ("station", "key", "code"),
    [("NOWHERE", Key().public, "unknown"), ("BOND-1", "abc", "malformed"), ("BOND-1", told(bytes(65)), "malformed")],
    ids=["no station", "no key", "no point"],
)
def test_a_tablet_needs_a_station_and_a_key(station, key, code):
    with pytest.raises(Refused) as refused:
        register_tablet(station, public_key=key, said=said(1))
    assert refused.value.code == code


def test_a_key_registers_one_tablet():
    key = Key()
    a_tablet(key=key)
    with pytest.raises(Refused) as refused:
        a_tablet(key=key)
    assert refused.value.code == "code-taken"


def test_a_tablet_proves_itself_by_signing_a_fresh_line(clock_at):
    key = Key()
    device = a_tablet(key=key)
    line = fresh_line(device.code)
    proof = key.signs(sign_in_message(device.code, "operator", line))
    check_proof(device, "operator", line, proof)
    of_another = fresh_line("TB-9")
    for badge, said_line, said_proof in [
        ("lead", line, proof),
        ("operator", of_another, key.signs(sign_in_message(device.code, "operator", of_another))),
        ("operator", line, Key().signs(sign_in_message(device.code, "operator", line))),
        ("operator", line, "?"),
    ]:
        with pytest.raises(Refused) as refused:
            check_proof(device, badge, said_line, said_proof)
        assert refused.value.code == "not-this-tablet"
    with patch("django.core.signing.time.time", lambda: time() + 301), pytest.raises(Refused) as refused:
        check_proof(device, "operator", line, proof)
    assert refused.value.code == "too-late"


def test_five_wrong_pins_are_free_then_the_wait_doubles(clock_at):
    device, person = a_tablet(), a_person("operator")
    set_pin(person, "2749", said=said(1, by="operator"))
    person.refresh_from_db()
    for _ in range(5):
        with pytest.raises(Refused) as refused:
            person_by_pin(device, "operator", "1111")
        assert refused.value.code == "wrong-pin"
    for minutes in (1, 2, 4):
        clock_at(clock.now() + timedelta(minutes=minutes, seconds=-1))
        with pytest.raises(Refused) as refused:
            person_by_pin(device, "operator", "2749")
        assert refused.value.code == "wait"
        clock_at(clock.now() + timedelta(seconds=2))
        with pytest.raises(Refused) as refused:
            person_by_pin(device, "operator", "1111")
        assert refused.value.code == "wrong-pin"
    person_by_pin(a_tablet(), "operator", "2749")  # another tablet is another count
    clock_at(clock.now() + timedelta(minutes=9))
    person_by_pin(device, "operator", "2749")
    assert not PinGuess.objects.exists()


def test_a_tablet_forgets_a_pin_when_another_one_is_set_and_at_nothing_else():
    person = a_person("operator")
    set_pin(person, "2749", said=said(1, by="operator"))
    person.refresh_from_db()
    first = pin_revision(person)
    set_password(person, "rushes by the tarn", said=said(2, by="operator"))
    assert pin_revision(person) == first
    set_pin(person, "9472", said=said(3, by="operator"))
    assert pin_revision(person) > first


def a_badge_of_each_kind() -> tuple[str, ...]:
    """One with a PIN, one without, one that is closed, one that nobody has."""
    for badge in ("operator", "stores"):
        set_pin(a_person(badge), "2749", said=said(1, by=badge))
    close_badge(a_person("stores"), said=said(2))
    assert not a_person("lead").pin
    return "operator", "lead", "stores", "nobody"


def test_nobody_learns_by_a_wrong_pin_whether_a_badge_is_there():
    device, hasher = a_tablet(), type(get_hasher())
    answers = []
    for badge in a_badge_of_each_kind():
        with (
            patch.object(hasher, "encode", autospec=True, side_effect=hasher.encode) as made,
            CaptureQueriesContext(connection) as asked,
            pytest.raises(Refused) as refused,
        ):
            person_by_pin(device, badge, "1111")
        # To hash is what takes time, and to try a PIN hashes it: as often for each, and so are the queries.
        answers.append((refused.value.code, str(refused.value), made.call_count, len(asked)))
    assert len(set(answers)) == 1
    assert answers[0][:3] == ("wrong-pin", WRONG, 1)


def test_the_wait_tells_no_more_than_the_pin():
    device = a_tablet()
    for badge in a_badge_of_each_kind():
        codes = []
        for typed in (badge, badge.upper(), f" {badge}", badge, badge, badge):
            with pytest.raises(Refused) as refused:
                person_by_pin(device, typed, "1111")
            codes.append(refused.value.code)
        assert codes == ["wrong-pin"] * 5 + ["wait"]


def test_a_persons_key_counts_until_the_badge_is_closed_and_then_never_again():
    device = a_tablet()
    key = a_key("operator", device)
    row = PersonKey.objects.get(public_key=key.public)
    assert row.counts
    close_badge(a_person("operator"), said=said(2))
    open_badge(a_person("operator"), said=said(3))
    assert not PersonKey.objects.get(pk=row.pk).counts
    with pytest.raises(Refused) as refused:
        make_key(device, key.public, said=said(4))
    assert refused.value.code == "code-taken"


def test_a_contact_is_noted_of_a_registered_tablet_alone():
    device = a_tablet()
    note_contact(device.code, station="MOULD-1", unsent=3, oldest_at=moment(4))
    note_contact(device.code, station="MOULD-1", unsent=0)
    note_contact("tablet-1", unsent=9)
    assert (DeviceContact.objects.get().unsent, DeviceContact.objects.get().at) == (0, moment(5))


@pytest.mark.django_db(transaction=True)
def test_wrong_pins_sent_at_once_are_each_counted():
    device, person = a_tablet(), a_person("operator")
    set_pin(person, "2749", said=said(1, by="operator"))
    person.refresh_from_db()

    def guess() -> str:
        with pytest.raises(Refused) as refused:
            person_by_pin(device, "operator", "1111")
        return refused.value.code

    assert sorted(in_threads(*[guess] * 6)) == ["wait", *["wrong-pin"] * 5]
    assert PinGuess.objects.get().failed == 5
