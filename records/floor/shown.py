"""The lines of a hand-over as its page carries them: signed by the server, so that what is sealed is what was read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.core import signing

from records.ledger.canonical import time_text
from records.ledger.refusals import Refused

from .actions import Line

SALT = "records.floor.shown"
# Longer than that, and the page no longer says what is. A choice of this project, no source.
COUNTS_FOR = timedelta(minutes=30)
# A tablet without a link shows what it knew at its last contact, and a whole shift may go by until its next one.
WITHOUT_LINK = timedelta(hours=16)


@dataclass(frozen=True)
class Shown:
    """The lines of a page, and the moment of which they tell."""

    lines: list[Line]
    at: datetime


def shown_text(lines: Sequence[Line], at: datetime) -> str:
    """The lines of a page that was drawn at a moment."""
    told = [[line.about, line.code, line.says, dict(line.spoken)] for line in lines]
    return signing.dumps({"at": time_text(at), "lines": told}, salt=SALT, compress=True)


def read_shown(text: str, at: datetime, counts_for: timedelta = COUNTS_FOR) -> Shown:
    """The lines that a page showed which is signed at a moment. Refuses ``too-old``."""
    try:
        told = signing.loads(text, salt=SALT)
        drawn, lines = datetime.fromisoformat(told["at"]), [Line(*line) for line in told["lines"]]
    except (signing.BadSignature, KeyError, TypeError, ValueError):
        drawn, lines = at - counts_for * 2, []
    if abs(at - drawn) > counts_for:
        raise Refused("too-old", "This page is too old to be signed. Open it again and read it.")
    return Shown(lines, drawn)
