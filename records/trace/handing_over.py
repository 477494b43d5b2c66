"""How a paper is handed over: as known at the moment asked for, to a browser as a file with a name."""

from __future__ import annotations

import re

from django.http import HttpResponse

from plant.papers.page import Made
from plant.people.queries import works_zone
from plant.times import read_time
from records.ledger.marks import Mark, mark_at
from records.ledger.position import mark_of_now


def mark_asked(as_of: str | None) -> Mark:
    """Mark of a written moment, or of everything on file. Refuses as ``read_time`` does."""
    return mark_at(read_time(as_of, works_zone())) if as_of and as_of.strip() else mark_of_now()


def file_name(paper: str, code: str) -> str:
    """Name of a paper's file: signs that a file system may refuse become dashes.

    Examples
    --------
    >>> file_name("dossier", "TW-26-000396-8"), file_name("dossier", "Rés/7 B")
    ('dossier-TW-26-000396-8.pdf', 'dossier-R-s-7-B.pdf')
    """
    return f"{paper}-{re.sub('[^A-Za-z0-9-]+', '-', code)}.pdf"


def as_download(made: Made, paper: str, code: str) -> HttpResponse:
    """A paper as an answer. Names stand in it, so no cache on the way keeps it."""
    response = HttpResponse(made.content, content_type="application/pdf")
    response["Content-Disposition"] = f'attachment; filename="{file_name(paper, code)}"'
    response["Cache-Control"] = "private, no-store"
    return response
