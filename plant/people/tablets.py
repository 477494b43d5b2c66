"""Tablets of the works: who may sign in there by badge or PIN, how often a PIN may be guessed, when it was heard of.

A PIN has few digits, so it counts only together with something else: the key that only this tablet's browser holds.
A tablet proves that it is itself by signing a line that the server made a moment ago.
"""

from __future__ import annotations

import base64
import binascii
from datetime import datetime, timedelta

from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX, check_password
from django.core import signing
from django.db import transaction

from records.ledger.asking import Asking
from records.ledger.canonical import canonical
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.ledger.signing import POINT, is_signed_on_device

from .models import BadgeChange, Device, DeviceContact, DeviceEnded, Person, PinGuess

SALT = "plant.people.tablets"
# Long enough to type a PIN. A choice of this project, no source.
LINE_LASTS = timedelta(minutes=5)
# Wrong PINs before a wait, which doubles with each more. Common practice, no source.
FREE_GUESSES, FIRST_WAIT, LONGEST_WAIT = 5, timedelta(minutes=1), timedelta(hours=12)
LONGEST_BADGE = 40
WRONG = "Badge and PIN don’t belong together. Look again, or sign in with your password."


def read_key(text: str) -> bytes:
    """Point of a public key, told in base64url without padding. Refuses ``malformed``."""
    point = read_bytes(text)
    if len(point) != POINT or point[0] != 4:
        raise Refused("malformed", "This is no public key of a tablet. Try it once more.")
    return point


def read_bytes(text: str) -> bytes:
    """Bytes told in base64url; none where they can't be read.

    Examples
    --------
    >>> read_bytes("BAE"), read_bytes("?")
    (b'\\x04\\x01', b'')
    """
    try:
        return base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, ValueError):
        return b""


def tablet_by_code(code: str) -> Device:
    """A registered tablet. Refuses ``not-registered`` and ``locked-out``."""
    device = Device.objects.filter(code=code.strip()).select_related("ended").first()
    if device is None:
        raise Refused("not-registered", "This tablet is not registered. Sign in with your password.")
    if hasattr(device, "ended"):
        raise Refused("locked-out", "Tablet %(tablet)s is locked. Use another one, or a sheet.", tablet=device.code)
    return device


def is_locked_out(code: str) -> bool:
    """Whether a tablet of this code was locked out."""
    return bool(_LOCKED_OUT.rows(code=code))


_LOCKED_OUT = Asking(lambda _, code: DeviceEnded.objects.filter(device__code=code).values_list("pk"))


def fresh_line(device: str) -> str:
    """A line for a tablet to sign, so that nobody can send yesterday's signature."""
    return signing.dumps(device, salt=SALT)


def check_proof(device: Device, badge: str, line: str, proof: str) -> bytes:
    """What a tablet signs to prove itself. Refuses ``not-this-tablet``, and ``too-late`` for a line that is old."""
    try:
        named = signing.loads(line, salt=SALT, max_age=LINE_LASTS)
    except signing.SignatureExpired as late:
        raise Refused("too-late", "This took too long. Try it once more.") from late
    except signing.BadSignature:
        named = ""
    message = sign_in_message(device.code, badge, line)
    if named != device.code or not is_signed_on_device(read_bytes(device.public_key), read_bytes(proof), message):
        raise Refused("not-this-tablet", "This is not the tablet that was registered. Register it once more.")
    return message


def sign_in_message(device: str, badge: str, line: str) -> bytes:
    """What is signed at sign-in on a tablet, by the tablet's key and by the person's."""
    return canonical({"badge": badge, "device": device, "line": line, "what": "sign-in"})


def wait_after(failed: int) -> timedelta:
    """How long to wait after so many wrong PINs in a row.

    Examples
    --------
    >>> [int(wait_after(n).total_seconds()) for n in (4, 5, 6, 8)]
    [0, 60, 120, 480]
    """
    if failed < FREE_GUESSES:
        return timedelta()
    return min(FIRST_WAIT * 2 ** min(failed - FREE_GUESSES, 20), LONGEST_WAIT)


def person_by_pin(device: Device, badge: str, pin: str) -> Person:
    """Whose badge and PIN these are. Refuses ``wrong-pin``, and ``wait`` after too many wrong ones.

    Whoever tries badges out learns nothing: one that nobody has, one that is closed, one without a PIN and a wrong PIN
    are counted alike, take as long, and are answered in the same words.
    """
    typed = badge.strip().casefold()[:LONGEST_BADGE]
    minutes = _guessed(device, typed)
    if minutes:
        raise Refused(
            "wait", "Too many wrong PINs. Wait %(minutes)s min, or sign in with your password.", minutes=minutes
        )
    person = Person.objects.filter(badge__iexact=badge.strip(), login=True, is_active=True).first()
    kept = person.pin if person and person.pin else UNUSABLE_PASSWORD_PREFIX  # to try this takes as long
    if not check_password(pin, kept) or person is None:
        raise Refused("wrong-pin", WRONG)
    PinGuess.objects.filter(device=device, badge=typed).delete()
    return person


def _guessed(device: Device, badge: str) -> int:
    """Count a guess as a wrong one before it is looked at, or say how long to wait. [min]

    To look at it takes a while. Were it counted afterwards, many sent at one instant would count as one.
    """
    now = clock.now()
    with transaction.atomic():
        PinGuess.objects.get_or_create(device=device, badge=badge, defaults={"last_at": now})
        guess = PinGuess.objects.select_for_update().get(device=device, badge=badge)
        over = guess.last_at + wait_after(guess.failed)
        if now < over:
            return max(1, round((over - now) / timedelta(minutes=1)))
        guess.failed, guess.last_at = guess.failed + 1, now
        guess.save()
    return 0


def pin_revision(person: Person) -> int:
    """Number of the entry that set the PIN in force; nought for one set with the works, or for none."""
    if not person.pin:
        return 0
    last = BadgeChange.objects.filter(person=person, what=BadgeChange.What.PIN).order_by("-entry_id").first()
    return last.entry_id if last else 1


def note_contact(
    code: str, *, station: str = "", unsent: int = 0, oldest_at: datetime | None = None, guesses: int = 0
) -> None:
    """Note when a tablet was heard of and what it told of itself; nothing for one that is not registered."""
    device = Device.objects.filter(code=code).first()
    if device is not None:
        told = {"at": clock.now(), "station": station, "unsent": unsent, "oldest_at": oldest_at, "guesses": guesses}
        DeviceContact.objects.update_or_create(device=device, defaults=told)
