"""The first page after coming in: the areas of a person's roles."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from plant.people.areas import areas_of


def home(request: HttpRequest) -> HttpResponse:
    """Where a person can go."""
    return render(request, "home.html", {"areas": areas_of(request.user)})  # type: ignore[arg-type]
