"""What every page for people outside has in common: no badge, no cookie, no script, a pace, their language."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from functools import wraps
from typing import Any

from csp.constants import NONE
from csp.decorators import csp_replace
from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.cache import patch_vary_headers
from django.views.decorators.csrf import csrf_exempt

from plant.pace import Pace, asker_of
from plant.people.models import Works

View = Callable[..., HttpResponse]
# Choices of this project, no source: a dealer scans a delivery through, and nobody tries out tokens.
PAGES = Pace(150, timedelta(minutes=10))
MISSES = Pace(20, timedelta(minutes=10))
REPORTS = Pace(10, timedelta(hours=1))
STRICT = {name: [NONE] for name in ("script-src", "connect-src", "worker-src", "manifest-src")}
HEADERS = {
    "X-Robots-Tag": "noindex, nofollow, noarchive",
    "Cache-Control": "no-store",  # a notice must show at the next look
    "Referrer-Policy": "no-referrer",  # the address holds the token
}


def public(view: View) -> View:
    """A view for people outside. It keeps no session: there is no cookie, and nothing that a forged form could use."""

    @login_not_required
    @csrf_exempt
    @csp_replace(STRICT)
    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        with translation.override(language_of(request)):
            who = asker_of(request)
            if MISSES.is_spent(who) or not PAGES.lets(who):
                response = told(request, "passport/busy.html", status=429)
                response["Retry-After"] = str(int(PAGES.within.total_seconds()))
            else:
                response = view(request, *args, **kwargs)
        for name, value in HEADERS.items():
            response[name] = value
        patch_vary_headers(response, ["Accept-Language"])
        return response

    return answer  # type: ignore[return-value]  # its decorators know of any response


def language_of(request: HttpRequest) -> str:
    """The language that was chosen on the page, else the one that the browser asks for."""
    chosen = request.GET.get("in", "")
    return chosen if chosen in dict(settings.LANGUAGES) else translation.get_language_from_request(request)


def chosen_language(request: HttpRequest) -> str:
    """What an address carries on, so that the language that was chosen stays chosen: no cookie could keep it."""
    chosen = request.GET.get("in", "")
    return f"?in={chosen}" if chosen in dict(settings.LANGUAGES) else ""


def told(request: HttpRequest, template: str, *, status: int = 200, **context: Any) -> HttpResponse:
    """A page for people outside, with what each of them needs."""
    own = {
        "works": Works.current(),
        "phone": settings.OWNER_PHONE,
        "languages": settings.LANGUAGES,
        "asks": chosen_language(request),
    }
    # Without the request: whoever happens to be signed in there is nobody here.
    return HttpResponse(render_to_string(template, own | context), status=status)


def no_page(request: HttpRequest) -> HttpResponse:
    """The answer to a token that was never given out; whoever tries many is not answered for a while."""
    MISSES.lets(asker_of(request))
    return told(request, "passport/none.html", status=404)
