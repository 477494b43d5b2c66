"""The lines of a hand-over as its page carries them: signed by the server, so that what is sealed is what was read."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.core import signing

from records.ledger.canonical import time_text
from records.ledger.refusals import Refused

from .actions import Line

SALT = "records.floor.shown"
# Longer than that, and the page no longer says what is. A choice of this project, no source.
COUNTS_FOR = timedelta(minutes=30)


def shown_text(lines: Sequence[Line], at: datetime) -> str:
    """The lines of a page that was drawn at a moment."""
    told = [[line.about, line.code, line.says, dict(line.spoken)] for line in lines]
    return signing.dumps({"at": time_text(at), "lines": told}, salt=SALT, compress=True)


def read_shown(text: str, at: datetime) -> list[Line]:
    """The lines that a page showed which is signed at a moment. Refuses ``too-old``."""
    try:
        told = signing.loads(text, salt=SALT)
        drawn, lines = datetime.fromisoformat(told["at"]), [Line(*line) for line in told["lines"]]
    except (signing.BadSignature, KeyError, TypeError, ValueError):
        drawn, lines = at - COUNTS_FOR * 2, []
    if abs(at - drawn) > COUNTS_FOR:
        raise Refused("too-old", "This page is too old to be signed. Open it again and read it.")
    return lines
