"""The book's keys held against the key on this machine and against each other."""

from __future__ import annotations

from itertools import pairwise

from ..keys import key_message, waiting_file
from ..models import SigningKey, TreeHead
from ..refusals import Refused
from ..sealing import head_message
from ..signing import is_signed, key_file, key_id, raw, read_key
from .faults import Fault

TABLE = "ledger_signingkey"


class Keys:
    """The public keys that the book names: the works' own as far as the key on this machine vouches for them."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self._rows = list(SigningKey.objects.order_by("number"))
        if self._rows:
            self._check_last(self._rows[-1])
            self._check_chain()
        elif TreeHead.objects.exists():
            self._tell("Heads are signed, and the book names no key.")

    def _tell(self, words: str, row: SigningKey | None = None, column: str | None = None) -> None:
        self.faults.append(Fault("signature-bad", TABLE, words, row=row.number if row else None, column=column))

    def _check_last(self, last: SigningKey) -> None:
        name, waiting = key_id(bytes(last.key)), waiting_file(key_id(bytes(last.key)))
        path = waiting if waiting.exists() else key_file()
        if not path.exists():
            self._tell(f"The key is not on this machine: there is no {path}. Put its copy back.", last)
            return
        try:
            here = raw(read_key(path).public_key())
        except Refused as refused:
            self._tell(str(refused), last)
            return
        if here != bytes(last.key):
            words = f"The book names key {name} last; {path} holds {key_id(here)}, which is not the works' newest."
            self._tell(words, last, "key")

    def _check_chain(self) -> None:
        first = self._rows[0]
        if first.number != 1:
            self._tell(f"Key {first.number} is the first there is; the ones before it are not there.", first)
        self._check_row(first, None)
        for earlier, row in pairwise(self._rows):
            if row.number != earlier.number + 1:
                self._tell(f"Key {row.number} follows key {earlier.number}; those between are not there.", row)
            self._check_row(row, bytes(earlier.key))

    def _check_row(self, row: SigningKey, before: bytes | None) -> None:
        message = key_message(row, before, both=row.signature_before is not None)
        if not is_signed(bytes(row.key), bytes(row.signature), message):
            self._tell("The key does not vouch for its row and for the key before it.", row, "signature")
        other = row.signature_before
        if other is not None and (before is None or not is_signed(before, bytes(other), message)):
            self._tell("The key before it does not vouch for this one.", row, "signature_before")

    def signature_fault(self, head: TreeHead) -> Fault | None:
        """What is wrong with the signature of a head: not by the key of its size, or not over what it says."""
        due = next((row for row in reversed(self._rows) if row.size < head.size), None)
        if due is None:
            return None  # told once: no key is named
        key, message = bytes(due.key), head_message(head)
        name = key_id(key)
        if head.key_id != name:
            column, words = "key_id", f"The head names key {head.key_id}; at its size key {name} signs."
        elif is_signed(key, bytes(head.signature), message):
            return None
        else:
            column, words = "signature", "The signature does not fit what the head says."
        return Fault("signature-bad", "ledger_treehead", words, row=head.size, column=column)
