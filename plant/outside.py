"""The name by which owners reach the pages of their frames: where it is one of its own, nothing else answers to it."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlsplit

from django.conf import settings
from django.core.exceptions import MiddlewareNotUsed
from django.http import HttpRequest, HttpResponse, HttpResponseNotFound
from django.http.request import split_domain_port

ON_THIS_MACHINE = {"127.0.0.1", "localhost", "[::1]", "testserver"}


def only_their_pages(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware that keeps the door of the works from the name that stands on frames all over the world."""
    name = (urlsplit(settings.OWNER_ADDRESS).hostname or "").lower()
    if not name or set(settings.ALLOWED_HOSTS) <= {name, *ON_THIS_MACHINE}:
        raise MiddlewareNotUsed("Owners have no name of their own: it is the works' own, or there is none.")
    theirs = ("/f/", "/01/", settings.STATIC_URL)

    def answer(request: HttpRequest) -> HttpResponse:
        asked, _port = split_domain_port(request.get_host())
        if asked == name and not request.path.startswith(theirs):
            return HttpResponseNotFound("Nothing stands at this address.\n", content_type="text/plain")
        return get_response(request)

    return answer
