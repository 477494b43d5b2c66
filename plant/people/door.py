"""The language of the door, before a badge is known: that of the last badge on this device, or the one chosen there."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

from plant.speaking import languages

# The device keeps it for a year. A choice of this project, no source.
KEPT_S = 365 * 24 * 60 * 60
CHOSEN = "language"


def chosen_language(request: HttpRequest) -> str:
    """The language that a press at the door asks for; empty where none does."""
    return _known(request.GET.get(CHOSEN, ""))


def door_language(request: HttpRequest, told: str = "") -> str:
    """The language in which to speak to whoever stands there; ``told`` is what a script of the page speaks."""
    kept = _known(request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME, ""))
    return _known(told) or chosen_language(request) or kept or settings.LANGUAGE_CODE


def keep_language(answer: HttpResponseBase, language: str) -> None:
    """Let this device keep the language of whoever came in, or what was chosen at its door."""
    secure = bool(settings.SESSION_COOKIE_SECURE)
    name = settings.LANGUAGE_COOKIE_NAME
    answer.set_cookie(name, language, max_age=KEPT_S, secure=secure, httponly=True, samesite="Lax")


def _known(language: str) -> str:
    return language if language in dict(languages()) else ""
