"""Who is not signed in is led to the sign-in; what they had typed waits for them there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseRedirect
from django.http.response import HttpResponseBase

from .tablets import is_locked_out

KEPT = "typed"
# More than any form of the house holds. A choice of this project, no source.
LONGEST = 65_536
NEVER_KEPT = ("csrfmiddlewaretoken", "password", "new", "again", "pin")


# What a session keeps of a tablet: its code, that its person came in there without a password, and since when.
DEVICE, BY_TABLET, SAT = "device", "by_tablet", "sat"
# A PIN is short: it opens the floor and the door, nothing else.
OPENED_BY_PIN = ("floor", "people")


class SignInFirst(LoginRequiredMiddleware):
    """Every page asks for a badge. A form sent after the session ended waits in the new one, without its secrets.

    Whoever came in on a tablet by badge or PIN sees the floor; on a tablet that is locked out nobody stays signed in.
    """

    def process_view(
        self, request: HttpRequest, view_func: Callable[..., Any], view_args: Any, view_kwargs: Any
    ) -> HttpResponseBase | None:
        if not getattr(view_func, "login_required", True):
            return None  # and nobody asks whose session it is: what is open to all is the same for all
        if request.user.is_authenticated:
            self._keep_to_the_floor(request)
        return super().process_view(request, view_func, view_args, view_kwargs)

    def _keep_to_the_floor(self, request: HttpRequest) -> None:
        device = request.session.get(DEVICE)
        if device and is_locked_out(device):
            logout(request)
        elif request.session.get(BY_TABLET):
            opened = request.resolver_match
            if opened is None or opened.namespace not in OPENED_BY_PIN:
                raise PermissionDenied("Badge and PIN open the floor. Sign in with your password for this page.")

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
