"""Who is not signed in is led to the sign-in; what they had typed waits for them there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponseRedirect

KEPT = "typed"
# More than any form of the house holds. A choice of this project, no source.
LONGEST = 65_536
NEVER_KEPT = ("csrfmiddlewaretoken", "password")


class SignInFirst(LoginRequiredMiddleware):
    """Every page asks for a badge. A form sent after the session ended waits in the new one, without its passwords."""

    def handle_no_permission(self, request: HttpRequest, view_func: Callable[..., Any]) -> HttpResponseRedirect:
        if request.method == "POST" and "key" not in request.GET:  # a floor screen's address carries its answers
            keep_typed(request)
        return super().handle_no_permission(request, view_func)


def keep_typed(request: HttpRequest) -> None:
    """Keep the fields of a form in the session, and the names of its files, which can't wait there."""
    told = [(name, str(value)) for name, values in request.POST.lists() for value in values if name not in NEVER_KEPT]
    if told and sum(len(name) + len(value) for name, value in told) <= LONGEST:
        files = [file.name for _, files in request.FILES.lists() for file in files]
        request.session[KEPT] = {"address": request.get_full_path(), "told": told, "files": files}
