"""Whether the program does its work, for whoever watches the machine."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache

from records.ledger.clock import clock
from records.ledger.marks import low_water
from records.ledger.models import Entry

SEALED_WITHIN = timedelta(minutes=2)
BACKED_UP_WITHIN = timedelta(hours=50)  # a nightly one may be late, and one may fail


@login_not_required
@never_cache
def health(_: HttpRequest) -> HttpResponse:
    """200 when all is well, or 503 with a line for each thing that is not. It names no person and no record."""
    try:
        found = [*sealing_troubles(clock.now()), *backup_troubles(clock.now())]
    except DatabaseError:
        found = ["The database does not answer."]
    return HttpResponse("\n".join(found or ["well"]) + "\n", status=503 if found else 200, content_type="text/plain")


def sealing_troubles(now: datetime) -> Iterator[str]:
    """Entries that wait for the worker longer than they should."""
    waiting = Entry.objects.filter(leaf=None, body__isnull=False, pk__gt=low_water())
    if waiting.filter(taken_at__lt=now - SEALED_WITHIN).exists():
        yield "Entries wait to be sealed: the worker does not run, or can't."


def backup_troubles(now: datetime) -> Iterator[str]:
    """A backup that is too old, or none though the works is open for so long; the trial makes none."""
    if settings.TRIAL or settings.DEBUG:
        return
    first = Entry.objects.order_by("pk").values_list("taken_at", flat=True).first()
    made = (file.stat().st_mtime for file in settings.BACKUP_FOLDER.glob("framethread-*.tar"))
    newest = max((datetime.fromtimestamp(at, UTC) for at in made), default=first)
    if newest and newest < now - BACKED_UP_WITHIN:
        yield "The newest backup is too old, or there is none."
