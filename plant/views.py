"""The first page after coming in: the areas of a person's roles, each with what stands in it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from plant.people.areas import areas_of
from plant.starting import doors


def home(request: HttpRequest) -> HttpResponse:
    """Where a person can go, and what stands there."""
    return render(request, "home.html", {"doors": doors(areas_of(request.user))})  # type: ignore[arg-type]
