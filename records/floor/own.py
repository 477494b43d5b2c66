"""What is somebody's own, on the floor: the language it speaks to them, their PIN and their password.

The forms and what they write are those of the desk (``plant/people/badges.py``); here they stand in the floor's frame.
"""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as noop

from plant.people.areas import in_area
from plant.people.badges import Frame, set_own_language, set_own_password, set_own_pin
from plant.people.models import BadgeChange, Person
from plant.people.queries import not_own_secrets

PIN, PASSWORD = BadgeChange.What.PIN, BadgeChange.What.PASSWORD
NOT_OWN = {
    frozenset({PIN}): noop("Set a PIN of your own"),
    frozenset({PASSWORD}): noop("Set a password of your own"),
    frozenset({PIN, PASSWORD}): noop("Set a PIN and a password of your own"),
}
SECRET = Frame("floor/own_secret.html", "floor:own")


@in_area("Floor")
def own(request: HttpRequest) -> HttpResponse:
    """The languages, a press each, and the ways to a new PIN and a new password."""
    return set_own_language(request, Frame("floor/own.html", "floor:own"))


@in_area("Floor")
def own_pin(request: HttpRequest) -> HttpResponse:
    """A new PIN."""
    return set_own_pin(request, SECRET)


@in_area("Floor")
def own_password(request: HttpRequest) -> HttpResponse:
    """A new password."""
    return set_own_password(request, SECRET)


def not_own_words(person: Person) -> str:
    """What somebody is to set anew because another one set it and knows it; empty where both are their own."""
    others = frozenset(not_own_secrets(person))
    return _(NOT_OWN[others]) if others else ""  # type: ignore[index]  # kinds of change are texts
