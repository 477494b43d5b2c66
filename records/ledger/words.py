"""Free words and their salted commitments."""

from __future__ import annotations

import secrets
from hashlib import sha256

from .models import PrivateWords


def commitment(salt: bytes, text: str) -> bytes:
    """SHA-256 over salt and text: proves the words while they are there, tells nothing once they are erased."""
    return sha256(salt + text.encode()).digest()


def keep_words(text: str) -> PrivateWords | None:
    """Row that holds free words; none for no words. A zero byte, which no database keeps as text, is shown as such."""
    text = text.replace("\0", "\ufffd").strip()
    if not text:
        return None
    salt = secrets.token_bytes(16)
    return PrivateWords.objects.create(salt=salt, text=text, commitment=commitment(salt, text))
