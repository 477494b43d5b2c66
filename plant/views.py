"""The first page after coming in, and a photo of an entry, which any area may show."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from plant.people.areas import areas_of, in_area
from plant.starting import doors
from records.ledger.models import Photo
from records.ledger.photographs import KIND
from records.ledger.photos import place_of


def home(request: HttpRequest) -> HttpResponse:
    """Where a person can go, and what stands there."""
    return render(request, "home.html", {"doors": doors(areas_of(request.user))})  # type: ignore[arg-type]


@in_area("Floor")
def photo(_: HttpRequest, name: str) -> HttpResponse:
    """A photo that an entry carries; its name is the hash of its bytes, so that it never changes."""
    if not Photo.objects.filter(sha256=name).exists():
        raise Http404("No entry carries such a photo.")
    try:
        answer = HttpResponse(place_of(name).read_bytes(), content_type=KIND)
    except FileNotFoundError as lost:
        raise Http404("This photo is not among the files. The book names it; tell whoever keeps the server.") from lost
    answer["Cache-Control"] = "private, max-age=31536000, immutable"
    return answer
