"""The act: one transaction, one entry, the payload of exactly the rows written.

Order inside: key, right, locks, rules, rows, payload. The header goes in first and its unique key is the lock against
twins; the payload goes in last.
"""

from __future__ import annotations

import hmac
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar
from uuid import UUID, uuid4

from django.apps import apps
from django.conf import settings
from django.db import IntegrityError, connection, models, transaction

from . import merkle
from .canonical import canonical, digest, row_payload
from .clock import clock
from .letting_in import let_in
from .memory import forget, remembering, stand_on
from .models import Entry, EntryBody, Flag, FromPaper, Photo, Signature, Unplaced
from .patterns import Fact, refuse_what_does_not_fit
from .photos import photo_rows
from .refusals import Conflict, Refused
from .statements import carried_out, insert, insert_into
from .words import keep_words

if TYPE_CHECKING:
    from plant.people.models import Person

LONGEST_ACT_S = 60
# Rooms whose rows are the set-up of the works.
SET_UP = "plant."


class Free(str):
    """Free words among the arguments of an act.

    They enter ``asked`` under the site's secret, so that erased words can't be found by guessing; an entry that could
    not be placed keeps them as a commitment.
    """


Row = TypeVar("Row", bound=Fact)


@dataclass(frozen=True)
class Signed:
    """A text that a person's key signed on a device; found good before the act."""

    text: str
    public_key: bytes
    signature: bytes
    is_second: bool = False


@dataclass(frozen=True)
class Paper:
    """The sheet of paper that an entry was typed in from: its number, the line, and who wrote that line."""

    sheet: str
    line: int
    maker: Person


@dataclass(frozen=True)
class Said:
    """Who says that something happened, when by their clock, and under which key.

    ``done`` tells of something that has happened already: it is flagged where a gate would refuse it. ``offset_ms``
    is the maker's clock offset at last contact. ``photos`` are hashes of pictures kept before (``photos.keep_photo``):
    any act writes them down as its own. ``told`` is what else the maker's device sent with it: sealed with the payload;
    a repeat is compared without it, and without what follows. ``second`` signs beside the maker; ``signed`` are the
    signatures that came along, ``doubts`` what was found wrong with the sender before the act. ``paper`` is the sheet
    that ``by`` typed it in from; ``at`` is then the time written there.
    """

    by: Person
    key: UUID
    at: datetime
    done: bool = False
    device: str = ""
    offset_ms: int = 0
    photos: tuple[str, ...] = ()
    told: Mapping[str, Any] = field(default_factory=dict, compare=False)
    second: Person | None = field(default=None, compare=False)
    signed: Sequence[Signed] = field(default=(), compare=False)
    doubts: Sequence[Refused] = field(default=(), compare=False)
    paper: Paper | None = field(default=None, compare=False)

    @property
    def happened_at(self) -> datetime:
        return self.at + timedelta(milliseconds=self.offset_ms)

    def lets(self, person: Person, kind: str) -> bool:
        """Whether a person may do an act; for what a tablet has kept, whether they might when it happened."""
        was_kept = self.done and self.device and not self.paper
        return person.may(kind) or bool(was_kept and person.might(kind, self.happened_at))


@dataclass
class Act:
    """An act in progress: ``made`` is true for a repeat, then ``entry`` is the first one's."""

    said: Said
    entry: Entry
    made: bool
    rows: list[Fact] = field(default_factory=list)
    flags: set[str] = field(default_factory=set)
    _flagged: set[tuple[str, str]] = field(default_factory=set)

    @property
    def at(self) -> datetime:
        """When it happened, by the maker's clock put right."""
        return self.said.happened_at

    def write(self, row: Row) -> Row:
        """Write one record row under this entry."""
        row.entry = self.entry
        refuse_what_does_not_fit(row)
        insert(row)
        self._note([row])
        return row

    def write_only(self, row: Row, overtaken: Conflict) -> Row:
        """Write a row of which one alone may stand; ``overtaken`` is told where it does, however close the race."""
        try:
            with transaction.atomic():
                return self.write(row)
        except IntegrityError as twin:
            raise overtaken from twin

    def write_all(self, rows: Iterable[Row]) -> list[Row]:
        """Write record rows of one table in one statement."""
        rows = list(rows)
        if len(rows) == 1:
            return [self.write(rows[0])]
        for row in rows:
            row.entry = self.entry
            refuse_what_does_not_fit(row)
        if rows:
            type(rows[0])._base_manager.bulk_create(rows)
            self._note(rows)
        return rows

    def _note(self, rows: list[Any]) -> None:
        """The payload will carry these rows; those of the set-up make what was looked up old."""
        self.rows.extend(rows)
        if type(rows[0]).__module__.startswith(SET_UP):
            forget()

    def flag(self, code: str, /, **facts: Any) -> None:
        """Note that a rule was broken, once for the same facts; the act is taken all the same."""
        told = canonical(facts).decode()
        if (code, told) not in self._flagged:
            self.flags.add(code)
            self._flagged.add((code, told))
            self.write(Flag(code=code, facts=told))

    def attach(self, names: Iterable[str]) -> list[Photo]:
        """Write down photos under this entry, each by hash, kind and size. Refuses ``photo-missing``."""
        return self.write_all(photo_rows(names))

    def refuse_or_flag(self, code: str, words: str, /, **facts: Any) -> None:
        """Refuse what is asked at the gate; flag what has been done already."""
        if not self.said.done:
            raise Refused(code, words, **facts)
        self.flag(code, **facts)


_watched: ContextVar[list[Act] | None] = ContextVar("watched", default=None)


@contextmanager
def watched() -> Iterator[list[Act]]:
    """The acts that are done inside the block: whether they repeat, and what they wrote, without asking the book."""
    acts: list[Act] = []
    token = _watched.set(acts)
    try:
        yield acts
    finally:
        _watched.reset(token)


def insert_header(kind: str, said: Said, asked: bytes) -> tuple[Entry, bool]:
    """Entry under the key, and whether it was there before. The same statement on both engines."""
    entry = Entry(
        key=said.key,
        kind=kind,
        by=said.by,
        device=said.device,
        made_at=said.at,
        offset_ms=said.offset_ms,
        happened_at=said.happened_at,
        taken_at=clock.now(),
        asked=asked,
    )
    header = insert_into(Entry, _or_what_stands())
    with carried_out(header.sql, header.values(entry)) as cursor:
        made = cursor.fetchone()
    if made is None:
        return Entry.objects.get(key=said.key), True
    entry.pk, entry.works = made[0], made[1] or ""
    stand_on(made[2])
    entry.told = said.told
    entry._state.adding = False
    entry._state.db = connection.alias
    return entry, False


@cache
def _or_what_stands() -> str:
    """What the header's statement does about a twin, and what it brings besides its number.

    The payload names the works, and what was looked up stands on the approvals: read with the header they cost no
    round trip of their own.
    """
    works = apps.get_model("people", "Works")._meta.db_table
    approvals = apps.get_model("catalogue", "Approval")._meta.db_table
    return (
        "on conflict (key) do nothing returning id, "
        f"(select code from {works} order by id limit 1), (select count(*) from {approvals})"
    )


def write_payload(entry: Entry, rows: list[Fact]) -> None:
    """Body and leaf hash of an entry over the rows written."""
    payload = payload_of(entry, rows)
    insert(EntryBody(entry=entry, payload=payload.decode(), leaf_hash=merkle.leaf_hash(payload)))


def payload_of(entry: Entry, rows: list[Fact]) -> bytes:
    """What the book says of an entry and the rows written under it."""
    works = None if entry.works else apps.get_model("people", "Works").current()
    told = {"told": dict(entry.told)} if entry.told else {}
    return canonical(
        {
            "v": 1,
            "works": works.code if works else entry.works,
            "key": entry.key,
            "kind": entry.kind,
            "by": entry.by_id,
            "device": entry.device,
            "made_at": entry.made_at,
            "offset_ms": entry.offset_ms,
            "happened_at": entry.happened_at,
            "taken_at": entry.taken_at,
            "asked": entry.asked,
            "rows": [row_payload(row) for row in rows],
            **told,
        }
    )


@contextmanager
def act(kind: str, said: Said, **asked: Any) -> Iterator[Act]:
    """One act: transaction, entry, right, rows, payload.

    ``asked`` are the arguments as read: codes folded, amounts in whole steps, measured values as written. A key that
    was used before gives ``made`` when the content is the same, else ``Conflict`` ``conflict``. A conflict, and a
    refused entry of something done, is kept in ``ledger.unplaced`` after the roll-back.
    """
    content = {"kind": kind, "by": said.by.pk, "at": said.at, "done": said.done, "asked": asked}
    if said.photos:
        content["photos"] = list(said.photos)
    fingerprint = digest(_with_words(content, _under_secret))
    started = time.monotonic()
    try:
        with remembering(), transaction.atomic():
            entry, made = insert_header(kind, said, fingerprint)
            if made and bytes(entry.asked) != fingerprint:
                raise Conflict(
                    "conflict",
                    "This entry was sent before with other content. The first is kept; the lead looks at this one.",
                )
            current = Act(said, entry, made)
            if not made:
                let_in(current, kind)
            doubted = len(current.rows)
            yield current
            if (watch := _watched.get()) is not None:
                watch.append(current)
            if not made:
                if len(current.rows) == doubted:
                    raise RuntimeError(f"the act {kind!r} wrote no row")
                _write_signatures(current)
                current.attach(said.photos)
                if (paper := said.paper) is not None:
                    current.write(FromPaper(sheet=paper.sheet, line=paper.line, maker=paper.maker))
                if time.monotonic() - started > LONGEST_ACT_S:
                    raise Refused("too-slow", "This took more than a minute and was not kept. Send it again.")
                write_payload(entry, current.rows)
    except Refused as refused:
        if isinstance(refused, Conflict) or said.done:
            keep_unplaced(content, said, refused, fingerprint)
            refused.is_kept = True
        raise


def _write_signatures(a: Act) -> None:
    """Keep what was signed: one text, under each key that signed it."""
    kept = {text: keep_words(text) for text in {one.text for one in a.said.signed}}
    for one in a.said.signed:
        text = kept[one.text]
        a.write(Signature(public_key=one.public_key, signature=one.signature, is_second=one.is_second, text=text))


def keep_unplaced(content: dict[str, Any], said: Said, refused: Refused, fingerprint: bytes) -> None:
    """Keep an entry that was not taken, once, in an act of its own, until somebody settles it."""
    kept = Unplaced.objects.filter(said_key=said.key, fingerprint=fingerprint)
    if kept.exists():
        return
    try:
        _write_unplaced(content, said, refused, fingerprint)
    except IntegrityError:
        # A twin kept it in the meantime; any other fault is told.
        if not kept.exists():
            raise


def _write_unplaced(content: dict[str, Any], said: Said, refused: Refused, fingerprint: bytes) -> None:
    program = apps.get_model("people", "Person").objects.program()
    with act("entry unplaced", Said(program, uuid4(), clock.now())) as keeping:
        raw = _with_words(content, _as_commitment)
        keeping.write(
            Unplaced(
                said_key=said.key,
                said_kind=content["kind"],
                said_by=said.by.pk,
                said_at=said.happened_at,
                code=refused.code,
                raw=canonical(raw).decode(),
                fingerprint=fingerprint,
            )
        )


def _with_words(value: Any, kept: Callable[[Free], Any]) -> Any:
    match value:
        case Free():
            return kept(value)
        case dict():
            return {key: _with_words(item, kept) for key, item in value.items()}
        case list() | tuple():
            return [_with_words(item, kept) for item in value]
    return value


def _under_secret(words: Free) -> str:
    return hmac.digest(settings.SECRET_KEY.encode(), words.strip().encode(), "sha256").hex()


def _as_commitment(words: Free) -> Any:
    row = keep_words(words)
    return None if row is None else {"words": row.pk, "commitment": row.commitment}


def was_taken(key: UUID) -> bool:
    """Whether an entry stands under this key."""
    return Entry.objects.filter(key=key).exists()


def flags_of(key: UUID) -> list[str]:
    """Codes of the flags raised by the entry under a key."""
    return sorted(set(Flag.objects.filter(entry__key=key).values_list("code", flat=True)))


def touch(states: Iterable[models.Model], entry: Entry) -> None:
    """Save state rows under the entry that changed them."""
    for state in states:
        state.entry = entry  # type: ignore[attr-defined]
        state.save()
