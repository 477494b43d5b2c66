"""Pages of people: somebody is added, given roles, found qualified."""

import pytest
from django.urls import reverse

from plant.people.actions import close_badge
from plant.people.models import Person
from plant.people.queries import is_qualified, works_day
from records.ledger.clock import clock
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def press(page: str, /, *args: object, **told: object):
    client, address = tablet("manager"), reverse(f"staff:{page}", args=args)
    form = client.get(address).context["form"]
    return client.post(address, {field: str(form.initial[field]) for field in ("key", "drawn_at")} | told)


def test_a_person_is_added_and_may_sign():
    press("person_add", badge="nell", name="Nell V.", roles=["operator", "lead"], password="a long enough one")
    nell = Person.objects.get(badge="nell")
    assert (nell.roles, nell.check_password("a long enough one")) == ({"operator", "lead"}, True)
    assert "Nell V." in tablet("manager").get(reverse("staff:person_list")).content.decode()


def test_a_badge_in_use_is_refused():
    page = press("person_add", badge="operator", name="Nell", roles=["lead"])
    assert "is taken" in page.content.decode()


def test_roles_are_given_and_taken():
    person = Person.objects.get(badge="operator")
    press("roles_change", person.pk, roles=["lead"])
    assert Person.objects.get(pk=person.pk).roles == {"lead"}
    assert "has these roles already" in press("roles_change", person.pk, roles=["lead"]).content.decode()


def test_a_qualification_is_put_on_file():
    person = Person.objects.get(badge="operator")
    press("qualification_give", person.pk, what="finish", from_on="2026-03-01")
    assert is_qualified(person, "finish", works_day(clock.now()))


def test_the_rows_that_are_no_login_are_not_found():
    program = Person.objects.program()
    assert tablet("manager").get(reverse("staff:roles_change", args=[program.pk])).status_code == 404


def listed(**asked: str) -> set[str]:
    rows = tablet("manager").get(reverse("staff:person_list"), asked).context["list"].table.rows
    return {row.record.person.badge for row in rows}


def test_people_are_narrowed_by_role_by_badge_and_by_name():
    press("person_add", badge="nell", name="Nell V.", roles=["auditor"])
    close_badge(Person.objects.get(badge="nell"), said=builders.said(6, by="manager"))
    assert "nell" in listed(role="auditor")
    assert "nell" not in listed(role="engineer")
    assert listed(badge="closed") == {"nell"}
    assert "nell" not in listed(badge="open")
    assert listed(code="NELL V") == {"nell"}
    assert "1 badge is closed" in tablet("manager").get(reverse("staff:person_list")).content.decode()


def test_a_file_of_people_holds_no_link_and_an_auditor_is_shown_none():
    taken = tablet("auditor").get(reverse("staff:person_list"), {"form": "csv"}).content.decode()
    assert taken.splitlines()[0] == "Badge,Name,Roles,On the list for,Badge is"
    page = tablet("auditor").get(reverse("staff:person_list")).content.decode()
    assert not any(words in page for words in ("Qualify", "PIN</a>", ">Change<"))
