"""The page of a list that is scanned; a script fills it from what the tablet took along, link or no link."""

from __future__ import annotations

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from plant.people.areas import in_area
from plant.speaking import say

from .many import MANY
from .stations import station_here


@in_area("Floor")
def many_page(request: HttpRequest, station: str, name: str) -> HttpResponse:
    """One thing after another is scanned, then one press for all."""
    here, many = station_here(station), MANY.get(name)
    if many is None:
        raise Http404(say("Nothing is scanned under the name %(name)s.", name=name))
    if not request.user.may(many.act):  # type: ignore[union-attr]  # nobody else is let in
        raise PermissionDenied(say("Your role may not do this: %(act)s. Ask your lead.", act=many.act))
    return render(request, "floor/many.html", {"station": here, "name": name, "many": many})
