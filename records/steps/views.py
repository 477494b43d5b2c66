"""The Plant page: units by the operation that they wait for, and what is held."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from plant.people.areas import in_area

from .queries import held_items, queues

SHOWN = 12


@in_area("Plant")
def today(request: HttpRequest) -> HttpResponse:
    """What waits where, the longest queue named first, and what is held."""
    waiting = queues()
    longest = max(waiting, key=lambda queue: len(queue.units), default=None)
    shown = [(queue, queue.units[:SHOWN], len(queue.units) - SHOWN) for queue in waiting]
    context = {"queues": shown, "longest": longest, "holds": held_items()}
    return render(request, "steps/today.html", context)
