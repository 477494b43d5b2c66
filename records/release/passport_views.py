"""Pages that a dealer or a rider reaches by the code on a frame."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from plant.pace import asker_of
from plant.people.queries import works_zone
from records.ledger.clock import clock

from .models import Passport
from .passports import full_day, names_unit, page_of, passport_by_token
from .public import REPORTS, chosen_language, no_page, public, told
from .reporting import MOST_SENT, DamageForm, Ticket


@public
@require_safe
def frame(request: HttpRequest, token: str, link: str = "") -> HttpResponse:
    """Who a frame is, what is known against riding it, how to report damage; ``link`` is what a label says behind."""
    passport = passport_by_token(token)
    if passport is None or (link and not names_unit(link, passport.unit)):
        return no_page(request)
    if not passport.stands:  # type: ignore[attr-defined]  # asked along
        return told(request, "passport/over.html", status=410)
    now = clock.now().astimezone(works_zone())
    looked = {"day": full_day(now.date()), "time": f"{now:%H:%M}"}
    return told(request, "passport/frame.html", page=page_of(passport.unit), looked=looked, token=passport.token)


@public
@require_http_methods(["GET", "HEAD", "POST"])
def report(request: HttpRequest, token: str) -> HttpResponse:
    """Damage told by whoever has the frame: taken, or what is to be put right first."""
    passport = passport_by_token(token)
    if passport is None or not passport.stands:  # type: ignore[attr-defined]  # asked along
        return no_page(request) if passport is None else told(request, "passport/over.html", status=410)
    if request.method != "POST":
        return _form(request, passport, DamageForm(passport))
    if not REPORTS.lets(asker_of(request)):
        return told(request, "passport/busy.html", status=429)
    if is_too_large(request):  # to tell more, it would have to be taken in whole
        return _form(request, passport, DamageForm(passport), too_large=True, status=413)
    form = DamageForm(passport, request.POST, request.FILES)
    if form.taken() is None:
        return _form(request, passport, form)
    return redirect(reverse("passport:reported", args=[passport.token]) + chosen_language(request))


def is_too_large(request: HttpRequest) -> bool:
    """Whether a form says that it is larger than any that is taken."""
    told_length = str(request.META.get("CONTENT_LENGTH") or "0")
    return not told_length.isdecimal() or int(told_length) > MOST_SENT


def _form(
    request: HttpRequest, passport: Passport, form: DamageForm, *, too_large: bool = False, status: int = 200
) -> HttpResponse:
    drawn = {"form": form, "ticket": Ticket.drawn(passport), "too_large": too_large}
    known = {"code": passport.unit.state.code, "token": passport.token}
    return told(request, "passport/report.html", status=status, **drawn, **known)


@public
@require_safe
def reported(request: HttpRequest, token: str) -> HttpResponse:
    """What was told is on file."""
    passport = passport_by_token(token)
    if passport is None:
        return no_page(request)
    return told(request, "passport/reported.html", token=passport.token)


@public
@require_safe
def old_link(request: HttpRequest, link: str) -> HttpResponse:  # noqa: ARG001  # no answer depends on it
    """A label from before frames had pages. Its link holds a serial that anybody can count on to the next one: the
    answer is the same for each, whether there is such a frame or not.
    """
    return told(request, "passport/old_link.html")
