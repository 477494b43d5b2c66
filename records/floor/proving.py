"""Whose entry it is: the signature of the maker's own key, made on the tablet where the work was logged.

What is signed is the canonical form (RFC 8785) of the entry as it is sent, all of it but ``NOT_SIGNED``: the signatures
themselves, the sitting, and ``done``, since whether a gate may still refuse it says nothing of what was done.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import rfc8785
from django.conf import settings

from plant.people.models import Person, PersonKey
from plant.people.tablets import is_locked_out, read_bytes
from records.ledger.acts import Signed
from records.ledger.refusals import Refused
from records.ledger.signing import is_signed_on_device

NOT_SIGNED = ("signature", "sitting", "done")
LONGEST_SIGNATURE, LONGEST_SALT = 100, 64
BAD = "The signature of this entry does not fit a key of this tablet. Sign in once more, and tell your lead."
UNSIGNED = "Entries are signed here by their maker. Sign in on a registered tablet."
LOST = "Tablet %(tablet)s is locked out. Use another one, or a sheet."


@dataclass(frozen=True)
class Proof:
    """What came along to show whose an entry is: a public key with its signature, and the line of a sitting."""

    signer: str = ""
    signature: str = ""
    sitting: str = ""


NO_PROOF = Proof()


def signed_text(told: Mapping[str, Any]) -> str:
    """The text that is signed of an entry; of the second person badge and key are part of it.

    Examples
    --------
    >>> signed_text({"kind": "step", "done": True, "second": {"by": "B-2", "signer": "p", "signature": "s"}})
    '{"kind":"step","second":{"by":"B-2","signer":"p"}}'
    """
    what = {name: value for name, value in told.items() if name not in NOT_SIGNED}
    second = told.get("second")
    if isinstance(second, Mapping):
        what["second"] = {name: second[name] for name in ("by", "signer") if name in second}
    return rfc8785.dumps(what).decode()


@dataclass
class Door:
    """What is looked up once for a batch: keys of people on tablets, and tablets that are locked out."""

    _keys: dict[tuple[int, str, str], PersonKey | None] = field(default_factory=dict)
    _locked: dict[str, bool] = field(default_factory=dict)

    def key_of(self, person: Person, device: str, signer: str) -> PersonKey | None:
        """The key by which a person signs on a tablet."""
        asked = (person.pk, device, signer)
        if asked not in self._keys:
            named = PersonKey.objects.filter(public_key=signer, person=person, device__code=device)
            self._keys[asked] = named.first()
        return self._keys[asked]

    def is_locked(self, device: str) -> bool:
        """Whether a tablet is locked out."""
        if device not in self._locked:
            self._locked[device] = bool(device) and is_locked_out(device)
        return self._locked[device]

    def signed(self, told: object, person: Person, device: str, proof: Proof) -> Signed | None:
        """The signature where it is that of the person's key on this tablet over this entry."""
        if not proof.signature or not isinstance(told, Mapping):
            return None
        if self.key_of(person, device, proof.signer) is None:
            return None
        try:
            text = signed_text(told)
        except (rfc8785.CanonicalizationError, UnicodeError, RecursionError):
            return None
        point, signature = read_bytes(proof.signer), read_bytes(proof.signature)
        return Signed(text, point, signature) if is_signed_on_device(point, signature, text.encode()) else None


def doubts_about(device: str, proof: Proof, signed: Signed | None, door: Door) -> list[Refused]:
    """What is wrong with whoever sends an entry: refused at the gate, marked where it has happened."""
    doubts = []
    if door.is_locked(device):
        doubts.append(Refused("tablet-lost", LOST, tablet=device))
    if proof.signature and signed is None:
        doubts.append(Refused("bad-signature", BAD))
    elif signed is None and settings.SIGNED_ENTRIES_ONLY:
        doubts.append(Refused("unsigned", UNSIGNED))
    return doubts
