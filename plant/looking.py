"""While a page is read, set-up that can't change under it is looked up once: the works, routes, bands."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from records.ledger.memory import remembering


def look_up_once(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware of requests that only read; an act remembers for itself."""

    def answer(request: HttpRequest) -> HttpResponse:
        if request.method not in ("GET", "HEAD"):
            return get_response(request)
        with remembering():
            return get_response(request)

    return answer
