"""Pages that a dealer or a rider reaches by the code on a frame."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from plant.people.queries import works_zone
from records.ledger.clock import clock

from .passports import full_day, names_unit, page_of, passport_by_token
from .public import no_page, public, told


@public
def frame(request: HttpRequest, token: str, link: str = "") -> HttpResponse:
    """Who a frame is, what is known against riding it, how to report damage; ``link`` is what a label says behind."""
    passport = passport_by_token(token)
    if passport is None or (link and not names_unit(link, passport.unit)):
        return no_page(request)
    if not passport.stands:  # type: ignore[attr-defined]  # annotated
        return told(request, "passport/over.html", status=410)
    now = clock.now().astimezone(works_zone())
    looked = {"day": full_day(now.date()), "time": f"{now:%H:%M}"}
    return told(request, "passport/frame.html", page=page_of(passport.unit), looked=looked)


@public
def old_link(request: HttpRequest, link: str) -> HttpResponse:  # noqa: ARG001  # no answer depends on it
    """A label from before frames had pages. Its link holds a serial that anybody can count on to the next one: the
    answer is the same for each, whether there is such a frame or not.
    """
    return told(request, "passport/old_link.html")
