"""Entries taken one by one, each in an act of its own, and what the tablet is told of each."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid5

from django.db import IntegrityError, OperationalError
from django.utils.translation import gettext as _

from plant.people.models import Person
from plant.people.queries import works_zone
from records.items.telling import kept_sentence, marks_in, marks_of
from records.ledger.acts import Act, Free, Said, keep_unplaced, watched
from records.ledger.canonical import digest
from records.ledger.clock import clock
from records.ledger.photos import missing_of
from records.ledger.refusals import Conflict, Refused
from records.trace.unplaced import NO_HEAD

from .differing import note_where_it_differs
from .envelopes import MOST_OFFSET_MS, Envelope, read_envelope, read_key
from .fields import MALFORMED, read_moment, strict_json
from .proving import Door, doubts_about
from .reading import READERS, made_by, read_entry
from .sheets import doubts_of_paper
from .sitting import check_sitting

TAKEN, FLAGGED, REFUSED, CONFLICT, LATER = "taken", "flagged", "refused", "conflict", "later"
# What a tablet keeps while it has no link is told in batches of this size. A choice of this project, no source.
MOST_ENTRIES = 200
# Under which an entry without a key of its own is kept, by what it says.
NO_KEY = UUID("6f1c1f0e-6a53-4d0c-9d0a-5b9f2f1f6c11")


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
    differs: list[str] = field(default_factory=list)

    @property
    def is_kept(self) -> bool:
        return self.outcome in (TAKEN, FLAGGED)

    def as_json(self) -> dict[str, Any]:
        return dict(vars(self))


def read_batch(body: bytes) -> tuple[list[object], object]:
    """Entries of a batch, and what the tablet tells of itself. Refuses ``malformed`` with where the text breaks off."""
    told = strict_json(body)
    told = told if isinstance(told, dict) else {}
    entries = told.get("entries")
    if not isinstance(entries, list) or len(entries) > MOST_ENTRIES:
        raise Refused(MALFORMED, 'Send {"entries": [...]} with at most %(most)s entries.', most=MOST_ENTRIES)
    return entries, told.get("tablet")


def take_all(entries: Sequence[object], by: Person) -> list[Answer]:
    """Take entries of any number, batch by batch; what waits in one batch waits for the following ones too."""
    waiting: set[str] = set()
    starts = range(0, len(entries), MOST_ENTRIES)
    return [answer for start in starts for answer in take_batch(entries[start : start + MOST_ENTRIES], by, waiting)]


def take_batch(entries: Sequence[object], by: Person, waiting: set[str] | None = None) -> list[Answer]:
    """Take entries in the order sent; one that is not taken does not stop the next.

    What depends on an entry that is to be sent once more is to be sent once more too, so that their order stays.
    ``waiting`` are keys of such entries from batches before; those of this one are added.
    """
    waiting = set() if waiting is None else waiting
    answers, door = [], Door()
    for told in entries:
        answer = take_entry(told, by, waiting, door)
        if answer.outcome == LATER:
            waiting.add(answer.key)
        answers.append(answer)
    return answers


def take_entry(told: object, by: Person, waiting: Collection[str] = (), door: Door | None = None) -> Answer:
    """Take one entry that ``by`` sends. It never raises for what was sent: each fault is an answer with its sentence.

    ``waiting`` are keys of entries that were not taken yet and will come again.
    """
    zone = works_zone()
    try:
        envelope = read_envelope(told, by, zone)
    except Refused as refused:
        return _unreadable(told, by, refused)
    try:
        envelope = proven(envelope, told, by, door or Door())
    except Refused as refused:
        return Answer(str(envelope.said.key), LATER, refused.code, str(refused))
    said = envelope.said
    if any(str(key) in waiting for key in envelope.depends_on):
        words = _("What comes before it is not on file yet. It is sent again by itself.")
        return Answer(str(said.key), LATER, "waits", words)
    if missing_of(said.photos):
        words = _("A photo of it has not come yet. Both are sent again by themselves.")
        return Answer(str(said.key), LATER, "photo-missing", words)
    try:
        with watched() as acts:
            made = _done_by(envelope)
    except Refused as refused:
        outcome = CONFLICT if isinstance(refused, Conflict) else REFUSED
        return Answer(str(said.key), outcome, refused.code, str(refused))
    except (IntegrityError, OperationalError):
        # Somebody else was writing the same thing at the same moment; the act left nothing behind.
        return Answer(str(said.key), LATER, "busy", _("Somebody else was writing. It is sent again by itself."))
    mine = next(one for one in acts if one.entry.key == said.key)
    return kept(mine, made_by(made), note_where_it_differs(envelope, mine.entry))


def proven(envelope: Envelope, told: object, by: Person, door: Door) -> Envelope:
    """The envelope with what proves whose it is. Refuses ``other-person`` where nothing proves that it is its maker's.

    Without a signature it is that of the person who sends it, or of somebody who sat at the tablet at the time.
    """
    said, signatures = envelope.said, []
    signed = door.signed(told, said.by, said.device, envelope.proof)
    if signed is not None:
        signatures.append(signed)
    elif said.by.pk != by.pk:
        check_sitting(envelope.proof.sitting, said.by, said.device, said.happened_at)
    second = None
    if envelope.second is not None:
        person, proof = envelope.second
        beside = door.signed(told, person, said.device, proof)
        if beside is not None:
            signatures.append(replace(beside, is_second=True))
        second = person if beside is not None or _sat(person, proof.sitting, said) else None
    doubts = [*doubts_about(said.device, envelope.proof, signed, door), *doubts_of_paper(said)]
    return replace(envelope, said=replace(said, second=second, signed=signatures, doubts=doubts))


def _sat(person: Person, line: str, said: Said) -> bool:
    try:
        check_sitting(line, person, said.device, said.happened_at)
    except Refused:
        return False
    return True


def _unreadable(told: object, by: Person, refused: Refused) -> Answer:
    """The answer to an entry without a readable head. What may have happened is kept for Review."""
    head = told if isinstance(told, dict) else {"done": True}
    key = head.get("key")
    sent = key if isinstance(key, str) else ""
    if head.get("done", False) is not False:  # what it says of that may be as unreadable as the rest
        try:
            kept_under = read_key(sent)
        except Refused:
            kept_under = uuid5(NO_KEY, _text_of(told))
        _keep_unread(Envelope(_said_by_head(head, kept_under, by), NO_HEAD, told), refused)
    return Answer(sent, REFUSED, refused.code, str(refused))


def _said_by_head(head: dict[str, Any], key: UUID, by: Person) -> Said:
    """Who sends an entry with a head that nobody could read, and its maker's time where that is to be read."""
    said = Said(by, key, clock.now(), done=True)
    made_at, offset = head.get("made_at"), head.get("offset_ms", 0)
    try:
        at = read_moment(made_at if isinstance(made_at, str) else "", works_zone())
        told = replace(said, at=at, offset_ms=offset if type(offset) is int else 0)
        longest = timedelta(milliseconds=MOST_OFFSET_MS)
        return told if said.at - longest <= told.happened_at <= said.at else said
    except (Refused, OverflowError):
        return said


def _done_by(envelope: Envelope) -> Any:
    """What the act that an entry asks for has made. What has happened and is refused is kept for Review as sent."""
    try:
        return read_entry(envelope, works_zone())()
    except Refused as refused:
        if envelope.said.done and not refused.is_kept:  # the act keeps what it refuses itself
            _keep_unread(envelope, refused)
        raise


def _keep_unread(envelope: Envelope, refused: Refused) -> None:
    said, kind, told = envelope.said, envelope.kind, envelope.payload
    at = said.at if kind != NO_HEAD else None  # the time of receipt is another one at each repeat
    if kind not in (*READERS, NO_HEAD):  # of a kind that there is not nobody knows whether something goes in
        kind, told = NO_HEAD, {"kind": kind, "payload": told}
    text = _text_of(told)
    content = {"kind": kind, "by": said.by.pk, "at": said.at, "done": True, "asked": {"payload": Free(text)}}
    keep_unplaced(content, said, refused, digest({"kind": kind, "at": at, "payload": text}))


def _text_of(told: object) -> str:
    try:
        return json.dumps(told, sort_keys=True, ensure_ascii=True)
    except RecursionError:
        return json.dumps("nested too deeply to be written down")


def kept(act: Act, made: str, differs: Sequence[str] = ()) -> Answer:
    """Answer for an entry that stands: its flags, and what they hold, and where it was judged by other rules."""
    flags, holds = marks_of(act.entry.key) if act.made else marks_in(act)
    held = sorted({hold.item.code for hold in holds})
    codes = sorted({flag.code for flag in flags})
    outcome = FLAGGED if codes else TAKEN
    words = " ".join(filter(None, [kept_sentence(flags, holds), *differs]))
    return Answer(str(act.entry.key), outcome, "", words, codes, held, made, act.made, list(differs))
