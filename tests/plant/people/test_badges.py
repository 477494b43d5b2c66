"""Passwords, PINs and closed badges: what is refused, who may, and what ends with them."""

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from plant.people.actions import add_person, change_roles, close_badge, open_badge, set_password, set_pin
from plant.people.models import BadgeChange, Person
from records.items.actions import place_hold
from records.ledger.acts import Said
from records.ledger.models import EntryBody, PrivateWords
from records.ledger.refusals import Refused
from tests import builders, worlds
from tests.builders import a_person, said
from tests.records.ledger.book import in_threads

pytestmark = pytest.mark.django_db
RUSHES = "rushes by the tarn"


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def refused(action, *args: object, **told: object) -> str:
    with pytest.raises(Refused) as caught:
        action(*args, **told)
    assert str(caught.value)
    return caught.value.code


def test_a_password_set_signs_in_and_stands_in_no_record():
    set_password(a_person("operator"), RUSHES, said=said(by="operator"))
    assert a_person("operator").check_password(RUSHES)
    assert not any("rushes" in payload for payload in EntryBody.objects.values_list("payload", flat=True))
    assert not PrivateWords.objects.filter(text__contains="rushes").exists()


@pytest.mark.parametrize("weak", ["short", "password123", ""])
def test_a_password_that_is_guessed_is_refused(weak: str):
    assert refused(set_password, a_person("operator"), weak, said=said(by="operator")) == "weak"


@pytest.mark.parametrize("weak", ["123", "123456789", "12a4", "7777", "2345", "8901", "9876", "٣٤٥٦"])
def test_a_pin_of_another_length_or_that_repeats_or_counts_is_refused(weak: str):
    assert refused(set_pin, a_person("operator"), weak, said=said(by="operator")) == "weak"


def test_a_person_added_with_a_weak_password_is_refused():
    assert refused(add_person, "B-8", name="Nell", roles=["lead"], password="short", said=said()) == "weak"


def test_only_the_manager_sets_the_password_of_somebody_else():
    assert refused(set_password, a_person("lead"), RUSHES, said=said(by="operator")) == "not-allowed"
    set_pin(a_person("lead"), "2749", said=said(by="manager"))
    assert a_person("lead").pin


def test_a_repeat_changes_nothing():
    first = said(by="operator")
    set_password(a_person("operator"), RUSHES, said=first)
    set_password(a_person("operator"), "another long one", said=first)
    assert a_person("operator").check_password(RUSHES)
    assert BadgeChange.objects.count() == 1


def test_a_closed_badge_is_signed_out_and_signs_nothing_until_it_is_opened():
    visitor, client = a_person("visitor"), worlds.signed_in("operator")
    operator = a_person("operator")
    close_badge(operator, said=said(by="manager"))
    assert client.get(reverse("home")).status_code == 302
    signing = Said(Person.objects.get(pk=operator.pk), said().key, said().at)
    assert refused(place_hold, "R1", reason="leak", said=signing) == "not-allowed"
    assert refused(close_badge, operator, said=said(by="manager")) == "nothing-changed"
    open_badge(operator, said=said(by="manager"))
    assert Person.objects.get(pk=operator.pk).may("step done")
    assert visitor.is_active


def test_somebody_stays_manager():
    manager = a_person("manager")
    for other in Person.objects.exclude(pk=manager.pk).filter(login=True):
        if "manager" in other.roles:
            change_roles(other, roles=other.roles - {"manager"}, said=said(by="manager"))
    assert refused(close_badge, manager, said=said(by="manager")) == "last-manager"
    assert refused(change_roles, manager, roles=["lead"], said=said(by="manager")) == "last-manager"


def test_a_session_is_no_place_to_try_passwords_out():
    lead = a_person("lead")
    lead.set_password("the one before")
    lead.save()
    client = Client()
    client.force_login(lead, backend="django.contrib.auth.backends.ModelBackend")
    form = client.get(address := reverse("people:own_pin")).context["form"]
    told = {field: str(form.initial[field]) for field in ("key", "drawn_at")} | {"new": "2580", "again": "2580"}
    for n in range(settings.AXES_FAILURE_LIMIT):
        client.post(address, told | {"password": f"guess {n}"})
    waiting = client.post(address, told | {"password": "the one before"})
    assert b"Too many wrong passwords" in waiting.content
    assert not Person.objects.get(pk=lead.pk).pin


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
def test_two_managers_who_close_each_other_at_one_moment_leave_one():
    first = a_person("manager")
    for other in Person.objects.exclude(pk=first.pk).filter(login=True):
        if "manager" in other.roles:
            change_roles(other, roles=other.roles - {"manager"}, said=said(by="manager"))
    second = add_person("second-manager", name="Second", roles=["manager"], said=said(by="manager"))

    def closed(one: Person, by: Person) -> str:
        try:
            close_badge(one, said=said(by=by))
        except Refused as refused:
            return refused.code
        return "closed"

    answers = in_threads(lambda: closed(first, second), lambda: closed(second, first))
    assert answers.count("closed") == 1


def test_the_page_asks_twice_and_for_the_password_in_force():
    lead = a_person("lead")
    lead.set_password("the one before")
    lead.save()
    client = Client()
    client.force_login(lead)
    address = reverse("people:own_password")

    def press(**told: str):
        form = client.get(address).context["form"]
        return client.post(address, {field: str(form.initial[field]) for field in ("key", "drawn_at")} | told)

    assert "The two differ" in press(new=RUSHES, again="else", password="the one before").content.decode()
    assert "not the password of your badge" in press(new=RUSHES, again=RUSHES, password="wrong").content.decode()
    assert press(new=RUSHES, again=RUSHES, password="the one before").status_code == 302
    assert client.get(reverse("home")).status_code == 200, "whoever set it stays signed in"
