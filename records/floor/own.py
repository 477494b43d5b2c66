"""What is somebody's own, on the floor: the language it speaks to them, their PIN and their password.

The forms and what they write are those of the desk (``plant/people/badges.py``); here they stand in the floor's frame.
"""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from plant.people.areas import in_area
from plant.people.badges import Frame, set_own_language, set_own_password, set_own_pin

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
