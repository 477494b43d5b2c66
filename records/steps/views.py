"""The Plant page: the way through the works, what waits on it, and what is held."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from plant.people.areas import in_area

from .flow import flows, span_of_steps
from .queries import held_items, queues


@in_area("Plant")
def today(request: HttpRequest) -> HttpResponse:
    """Each route with what waits where and how it went, the longest queue named first, and what is held."""
    waiting, span = queues(), span_of_steps()
    context = {
        "flows": flows(waiting, span),
        "span": span,
        "longest": max(waiting, key=lambda queue: len(queue.units), default=None),
        "holds": held_items(),
    }
    return render(request, "steps/today.html", context)
