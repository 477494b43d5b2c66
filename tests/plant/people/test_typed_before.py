"""A form that is sent after the session ended: what was typed waits behind the sign-in."""

import pytest
from django.conf import settings
from django.forms import PasswordInput
from django.urls import reverse

from plant.people.acting import SigningForm
from plant.people.badges import PasswordForm, PinForm
from plant.people.middleware import NEVER_KEPT
from plant.people.staff import PersonForm
from records.floor.handing_views import HandOverForm
from records.inspection.forms import CorrectForm
from records.items.models import Hold
from records.items.queries import find_item
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
TYPED = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1"}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def sign_in(client, address: str):
    """Sign in as somebody whose session has ended, and go where that leads."""
    client.force_login(builders.a_person(), backend="django.contrib.auth.backends.ModelBackend")
    return client.get(address)


def drawn(name: str, *args: str) -> dict[str, str]:
    form = tablet().get(reverse(name, args=args)).context["form"]
    return {field: str(form.initial[field]) for field in ("key", "drawn_at")}


def test_it_waits_and_is_sent_once_the_person_is_in(client):
    address = reverse("items:lot_receive")
    away = client.post(address, TYPED | drawn("items:lot_receive"))
    assert away.url.startswith(reverse("people:sign_in"))
    page = sign_in(client, reverse("people:typed"))
    assert "Fell Supply" in page.content.decode()
    assert find_item("R1") is None
    client.post(page.context["kept"]["address"], dict(page.context["kept"]["told"]))
    assert find_item("R1").part.number == "RES-A"


def test_the_sign_in_leads_to_it(client):
    address = reverse("items:lot_receive")
    client.post(address, TYPED)
    person = builders.a_person()
    person.set_password("long enough to sign")
    person.save()
    told = {"username": person.badge, "password": "long enough to sign", "next": address}
    assert client.post(reverse("people:sign_in"), told).url == reverse("people:typed")


def test_a_password_is_never_kept(client):
    client.post(
        reverse("trace:hold_lift", args=[7]),
        {"words": "looked at again", "password": "secret"},
    )
    kept = client.session["typed"]
    assert kept["told"] == [["words", "looked at again"]]
    assert not Hold.objects.exists()


@pytest.mark.parametrize("form", [PasswordForm, PinForm, PersonForm, HandOverForm, CorrectForm, SigningForm])
def test_no_field_that_hides_what_is_typed_is_ever_kept(form):
    hidden = {name for name, field in form.base_fields.items() if isinstance(field.widget, PasswordInput)}
    assert hidden
    assert hidden <= set(NEVER_KEPT)


def test_what_is_longer_than_any_form_is_not_kept(client):
    client.post(reverse("items:lot_receive"), {"supplier": "x" * 70_000})
    assert "typed" not in client.session


def test_nobody_who_typed_nothing_sees_the_page():
    assert tablet().get(reverse("people:typed")).url == reverse(settings.LOGIN_REDIRECT_URL)
