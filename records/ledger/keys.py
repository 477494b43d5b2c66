"""Which key signs which heads: the book names each public key, and a new one and the one before it sign each other."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import transaction
from django.db.models import Max

from .canonical import canonical
from .clock import clock
from .locking import lock_sealing
from .models import Leaf, SigningKey
from .refusals import Refused
from .signing import keep_key, key_file, key_id, raw, read_key, signing_key


def key_message(row: SigningKey, before: bytes | None, *, both: bool) -> bytes:
    """What a key and the one before it sign; ``both`` says that both do."""
    content = {"number": row.number, "key": row.key, "before": before, "size": row.size}
    return canonical({**content, "taken_at": row.taken_at, "both": both})


def key_in_force() -> Ed25519PrivateKey:
    """The key that signs the next head: the one that the book names last. The first is made and named here.

    Refuses ``no-signing-key`` where no file holds that key.
    """
    last = SigningKey.objects.order_by("-number").first()
    if last is None:
        first = signing_key()
        _name(first, number=1, size=0)
        return first
    name = key_id(bytes(last.key))
    # A replacement that was cut off after the book had named the new key is finished here.
    with suppress(FileNotFoundError):
        os.replace(waiting_file(name), key_file())
    key = read_key(key_file()) if key_file().exists() else None
    if key is None or raw(key.public_key()) != bytes(last.key):
        raise Refused(
            "no-signing-key",
            "Nothing is sealed: the book names key %(key)s last, and %(path)s does not hold it. "
            "Put its copy back; if the key is lost for good, run manage.py newkey --lost.",
            key=name,
            path=key_file(),
        )
    return key


def replace_key(*, lost: bool = False) -> SigningKey:
    """A new key signs from now on; the file of the old one is overwritten. Both vouch for the change.

    ``lost`` says that the old key is gone for good, so that only the new one can. Refuses ``nothing-sealed``,
    ``no-signing-key`` and, for a lost key that is here after all, ``not-lost``.
    """
    with transaction.atomic():
        lock_sealing()
        last = SigningKey.objects.order_by("-number").first()
        if last is None:
            raise Refused("nothing-sealed", "No key is in use yet: the first is made when the first entry is sealed.")
        old = _old_key(lost)
        new = Ed25519PrivateKey.generate()
        path = waiting_file(key_id(raw(new.public_key())))
        keep_key(new, path)
        top = Leaf.objects.aggregate(top=Max("index"))["top"]
        row = _name(new, number=last.number + 1, size=0 if top is None else top + 1, before=bytes(last.key), old=old)
    with suppress(FileNotFoundError):  # a sealer was faster
        os.replace(path, key_file())
    return row


def _old_key(lost: bool) -> Ed25519PrivateKey | None:
    if not lost:
        return key_in_force()
    try:
        key_in_force()
    except Refused:
        return None
    raise Refused("not-lost", "The key that the book names last is here. Run newkey without --lost, so that it signs.")


def waiting_file(name: str) -> Path:
    """Where a new key lies until the book has named it."""
    return key_file().with_name(f"{key_file().name}.{name}")


def _name(
    key: Ed25519PrivateKey,
    *,
    number: int,
    size: int,
    before: bytes | None = None,
    old: Ed25519PrivateKey | None = None,
) -> SigningKey:
    row = SigningKey(number=number, key=raw(key.public_key()), size=size, taken_at=clock.now())
    message = key_message(row, before, both=old is not None)
    row.signature = key.sign(message)
    row.signature_before = old.sign(message) if old else None
    row.save(force_insert=True)
    return row
