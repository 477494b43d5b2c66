"""The head of an entry: who says what, when, by which proof, and what the tablet tells besides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.translation import gettext_noop as noop

from plant.people.models import Person
from plant.people.queries import person_by_badge
from records.ledger.acts import Paper, Said
from records.ledger.canonical import time_text
from records.ledger.photos import MOST_PHOTOS, NAME
from records.ledger.refusals import Refused

from .fields import LONGEST_CODE, MALFORMED, Fields, read_moment
from .on_paper import NO_PHOTO
from .proving import LONGEST_SALT, LONGEST_SIGNATURE, NO_PROOF, Proof
from .sheets import sheet_by_code

# A clock further off than this is no clock: 90 days. A choice of this project, no source.
MOST_OFFSET_MS = 90 * 86_400_000
# No tablet makes so many entries; a signed line is about 150 signs long.
MOST_SEQUENCE, LONGEST_SITTING = 10**9, 400
MOST_LINE = 999  # no sheet has more
MOST_TOUCHES = 100_000
# Why an entry goes without a photo that was taken for it; the tablet sends the code. Its first signs name it to people.
LEFT_OUT = {
    "gone": noop("it is not on the tablet any more"),
    "not-sent": noop("it could not be sent"),
    "wrong": noop("it showed something else"),
}
MARK = 8


@dataclass(frozen=True)
class Seen:
    """Which revisions a screen showed to whoever made an entry, and when the tablet had last heard of holds."""

    holds_at: str = ""
    route: str = ""
    bands: Mapping[str, str] = field(default_factory=dict)

    def as_told(self) -> dict[str, object]:
        return {name: value for name, value in vars(self).items() if value}


@dataclass(frozen=True)
class Envelope:
    """Who says what when, by which proof, who signs beside them, and the fields of it still to be read."""

    said: Said
    kind: str
    payload: object
    proof: Proof = NO_PROOF
    second: tuple[Person, Proof] | None = None
    depends_on: tuple[UUID, ...] = ()
    seen: Seen = Seen()


def read_envelope(told: object, by: Person, zone: ZoneInfo) -> Envelope:
    """Envelope of one entry; ``by`` made it where it names nobody. Refuses ``malformed`` and times that can't be."""
    fields = Fields(told, zone)
    key = read_key(fields.text("key", needed=True))
    kind = fields.text("kind", needed=True)
    made_at = read_moment(fields.text("made_at", needed=True), zone)
    badge = fields.text("by")
    depends_on = tuple(read_key(text) for text in fields.texts("depends_on"))
    sequence, seen = fields.whole("sequence", most=MOST_SEQUENCE), _seen(fields)
    device = fields.text("device", longest=LONGEST_CODE)
    second = _second(fields)
    told_besides = {"sequence": sequence, "depends_on": list(depends_on), "seen": seen.as_told()}
    told_besides["second"] = second[0].pk if second else None
    told_besides["photos_left"] = _photos_left(fields)
    paper, told_besides["no_photo"] = _paper(fields)
    told_besides |= {"figures": _figures(fields), "time_unsure": fields.truth("time_unsure")}
    said = Said(
        person_by_badge(badge) if badge and badge.casefold() != by.badge.casefold() else by,
        key,
        made_at,
        done=fields.truth("done"),
        device=device,
        offset_ms=fields.whole("offset_ms", most=MOST_OFFSET_MS),
        photos=_photos(fields),
        paper=paper,
        told={name: value for name, value in told_besides.items() if value},
    )
    try:
        _ = said.happened_at
    except OverflowError as wrong:
        raise Refused("not-a-time", "made_at lies outside the calendar. Set the tablet's clock.") from wrong
    fields.text("salt", longest=LONGEST_SALT)  # it stands in the text that is signed, so that nobody can guess that
    envelope = Envelope(said, kind, fields.raw("payload"), _proof(fields), second, depends_on, seen)
    fields.end()
    return envelope


def _proof(fields: Fields) -> Proof:
    signer, signature = (fields.text(name, longest=LONGEST_SIGNATURE) for name in ("signer", "signature"))
    return Proof(signer, signature, fields.text("sitting", longest=LONGEST_SITTING))


def _second(fields: Fields) -> tuple[Person, Proof] | None:
    """Who signs beside the maker: badge, and a signature or sitting as the maker's own."""
    told = fields.heading("second")
    badge, proof = told.text("by"), _proof(told)
    told.end()
    return (person_by_badge(badge), proof) if badge else None


def _photos(fields: Fields) -> tuple[str, ...]:
    names = fields.texts("photos", longest=64)
    if len(names) > MOST_PHOTOS or not all(NAME.fullmatch(name) for name in names):
        raise Refused(MALFORMED, "photos must be at most %(most)s hashes of 64 signs each.", most=MOST_PHOTOS)
    return tuple(dict.fromkeys(names))


def _photos_left(fields: Fields) -> list[dict[str, str]]:
    """Photos that it had and goes without, each by its hash and why."""
    left = []
    for row in fields.rows("photos_left"):
        photo, why = row.text("photo", needed=True, longest=64), row.text("why", needed=True)
        row.end()
        if not NAME.fullmatch(photo) or why not in LEFT_OUT:
            raise Refused(MALFORMED, "photos_left must name hashes, and why: %(these)s.", these=", ".join(LEFT_OUT))
        left.append({"photo": photo, "mark": photo[:MARK], "why": LEFT_OUT[why]})
    return left


def _paper(fields: Fields) -> tuple[Paper | None, str]:
    """The emergency sheet that it was typed in from: ``sheet``, ``line``, and ``by``, the badge of who wrote it.

    With it why no photo of the paper could be made, in words; empty where there is one.
    """
    told = fields.heading("paper")
    sheet, line, badge = told.text("sheet"), told.whole("line", most=MOST_LINE), told.text("by")
    why = told.text("no_photo")
    told.end()
    if why and why not in NO_PHOTO:
        raise Refused(MALFORMED, "no_photo must be one of: %(these)s.", these=", ".join(NO_PHOTO))
    return (Paper(sheet_by_code(sheet).code, line, person_by_badge(badge)) if sheet else None), NO_PHOTO.get(why, "")


def _figures(fields: Fields) -> dict[str, int]:
    """How many scans and presses it took on the tablet, and how long from the first to the log. [ms]"""
    told = fields.heading("figures")
    touches, ms = told.whole("touches", most=MOST_TOUCHES), told.whole("ms", most=MOST_OFFSET_MS)
    told.end()
    return {"touches": touches, "ms": ms} if touches > 0 and ms >= 0 else {}


def _seen(fields: Fields) -> Seen:
    told = fields.heading("seen")
    moment = told.moment("holds_at")
    bands = {}
    for row in told.rows("bands"):
        bands[row.text("name", needed=True)] = row.text("revision", needed=True)
        row.end()
    seen = Seen(time_text(moment) if moment else "", told.text("route"), bands)
    told.end()
    return seen


def read_key(text: str) -> UUID:
    """Key of an entry. Refuses ``malformed``."""
    try:
        return UUID(text)
    except ValueError as wrong:
        raise Refused(MALFORMED, "key must be a UUID, such as 018f2c5e-7b1a-4c3d-9e2f-5a6b7c8d9e0f.") from wrong
