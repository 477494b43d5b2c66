"""What people's own keys signed on their devices, held against the texts that are kept."""

from __future__ import annotations

from collections.abc import Iterable

from ..models import Signature
from ..signing import is_signed_on_device
from .faults import Fault
from .reading import pages

TABLE = "ledger_signature"
COLUMNS = ("pk", "entry_id", "public_key", "signature", "text__text")


def signature_faults(told: Iterable[Fault] = ()) -> list[Fault]:
    """Signatures that do not fit their text, but for rows of which a fault is told already.

    Of a text that was erased nothing can be said any more.
    """
    named = {fault.row for fault in told if fault.table == TABLE}
    return [
        Fault("signature-bad", TABLE, "The signature does not fit the text that is kept.", row=pk, entry=entry)
        for page in pages(Signature.objects.all(), *COLUMNS)
        for pk, entry, key, signature, text in page
        if pk not in named and text is not None and not is_signed_on_device(bytes(key), bytes(signature), text.encode())
    ]
