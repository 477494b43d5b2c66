"""Entries taken one by one, each in an act of its own, and what the tablet is told of each."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import IntegrityError, OperationalError

from plant.people.models import Person
from plant.people.queries import works_zone
from records.items.telling import kept_sentence, marks_of
from records.ledger.acts import Free, Said, keep_unplaced, was_taken
from records.ledger.canonical import digest
from records.ledger.refusals import Conflict, Refused

from .fields import MALFORMED
from .reading import Envelope, made_by, read_entry, read_envelope

TAKEN, FLAGGED, REFUSED, CONFLICT, LATER = "taken", "flagged", "refused", "conflict", "later"
# What a tablet keeps while it has no link is told in batches of this size. A choice of this project, no source.
MOST_ENTRIES = 200


@dataclass(frozen=True)
class Answer:
    """What became of one entry. ``later`` asks the tablet to send it once more; nothing of it is kept."""

    key: str
    outcome: str
    code: str = ""
    words: str = ""
    flags: list[str] = field(default_factory=list)
    held: list[str] = field(default_factory=list)
    made: str = ""
    repeat: bool = False

    @property
    def is_kept(self) -> bool:
        return self.outcome in (TAKEN, FLAGGED)

    def as_json(self) -> dict[str, Any]:
        return dict(vars(self))


def read_batch(body: bytes) -> list[object]:
    """Entries of a batch. Refuses ``malformed`` with where the text breaks off."""
    try:
        told = json.loads(body, parse_constant=_no_number, object_pairs_hook=_named_once)
    except json.JSONDecodeError as wrong:
        raise Refused(
            MALFORMED, "This is no JSON: it breaks off in line %(line)s. Send it again.", line=wrong.lineno
        ) from wrong
    except (UnicodeDecodeError, RecursionError) as wrong:
        raise Refused(MALFORMED, "This is no JSON in UTF-8. Send it again.") from wrong
    entries = told.get("entries") if isinstance(told, dict) else None
    if not isinstance(entries, list) or len(entries) > MOST_ENTRIES:
        raise Refused(MALFORMED, 'Send {"entries": [...]} with at most %(most)s entries.', most=MOST_ENTRIES)
    return entries


def _no_number(text: str) -> object:
    raise Refused(MALFORMED, "%(text)s is no number that can be kept.", text=text)


def _named_once(pairs: Sequence[tuple[str, object]]) -> dict[str, object]:
    told = dict(pairs)
    if len(told) != len(pairs):
        raise Refused(MALFORMED, "A field is named twice; nobody can tell which one is meant.")
    return told


def take_batch(entries: Sequence[object], by: Person) -> list[Answer]:
    """Take entries in the order sent; one that is not taken does not stop the next."""
    return [take_entry(told, by) for told in entries]


def take_entry(told: object, by: Person) -> Answer:
    """Take one entry. It never raises for what was sent: each fault is an answer with its sentence."""
    zone = works_zone()
    try:
        envelope = read_envelope(told, by, zone)
    except Refused as refused:
        key = told.get("key") if isinstance(told, dict) else None
        return Answer(key if isinstance(key, str) else "", REFUSED, refused.code, str(refused))
    said = envelope.said
    repeat = was_taken(said.key)
    try:
        called = _understood(envelope)
        made = called()
    except Refused as refused:
        outcome = CONFLICT if isinstance(refused, Conflict) else REFUSED
        return Answer(str(said.key), outcome, refused.code, str(refused))
    except (IntegrityError, OperationalError):
        # Somebody else was writing the same thing at the same moment; the act left nothing behind.
        return Answer(str(said.key), LATER, "busy", "Somebody else was writing. It is sent again by itself.")
    return kept(said, made_by(made), repeat)


def _understood(envelope: Envelope) -> Any:
    """The act that an entry asks for. What has happened and can't be read is kept for Review as it was sent."""
    try:
        return read_entry(envelope, works_zone())
    except Refused as refused:
        if envelope.said.done:
            _keep_unread(envelope, refused)
        raise


def _keep_unread(envelope: Envelope, refused: Refused) -> None:
    said = envelope.said
    text = json.dumps(envelope.payload, sort_keys=True, ensure_ascii=True)
    content = {"kind": envelope.kind, "by": said.by.pk, "at": said.at, "done": True, "asked": {"payload": Free(text)}}
    keep_unplaced(content, said, refused, digest({"kind": envelope.kind, "at": said.at, "payload": text}))


def kept(said: Said, made: str, repeat: bool) -> Answer:
    """Answer for an entry that stands: its flags, and what they hold."""
    flags, holds = marks_of(said.key)
    held = sorted({hold.item.code for hold in holds})
    codes = sorted({flag.code for flag in flags})
    outcome = FLAGGED if codes else TAKEN
    words = kept_sentence(flags, holds)
    return Answer(str(said.key), outcome, "", words, codes, held, made, repeat)
