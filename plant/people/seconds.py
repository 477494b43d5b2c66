"""A second person at the same screen: signs by badge and PIN beside whoever is in, without changing who that is."""

from __future__ import annotations

from django.contrib.auth.hashers import check_password
from django.http import HttpRequest

from records.ledger.refusals import Refused

from .models import Person
from .queries import person_by_badge
from .throttling import count_wrong, may_guess


def second_by_pin(request: HttpRequest, badge: str, pin: str) -> Person:
    """Who signs second. Wrong PINs are counted as wrong passwords are.

    Refuses ``unknown`` for the badge, ``second-person`` for whoever is in, ``no-pin``, ``wrong-pin`` and ``wait``.
    """
    second = person_by_badge(badge)
    if second.pk == request.user.pk:
        raise Refused("second-person", "That is your own badge. A second person must sign.")
    if not second.pin:
        raise Refused("no-pin", "No PIN is set for this badge. Its person sets one under their name.")
    if not may_guess(request, second.badge):
        raise Refused("wait", "Too many wrong PINs with this badge. Wait a quarter of an hour.")
    if not check_password(pin.strip(), second.pin):
        count_wrong(request, second.badge)
        raise Refused("wrong-pin", "This is not the PIN of that badge. Nothing was kept.")
    return second
