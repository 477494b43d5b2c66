"""The works' signing key: an Ed25519 key in a file, made on first start."""

from __future__ import annotations

import os
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from tempfile import NamedTemporaryFile

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from django.conf import settings


def signing_key() -> Ed25519PrivateKey:
    """The key that signs tree heads; made when there is none yet."""
    path = Path(settings.SIGNING_KEY_FILE)
    if not path.exists():
        _make(path)
    key = serialization.load_pem_private_key(path.read_bytes(), password=None)
    if not isinstance(key, Ed25519PrivateKey):
        raise TypeError(f"{path} holds no Ed25519 key")
    return key


def _make(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    pem = Ed25519PrivateKey.generate().private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    # Written under another name and linked, so that two processes that start at once share one key.
    with NamedTemporaryFile(dir=path.parent, prefix=path.name) as draft, suppress(FileExistsError):
        draft.write(pem)
        draft.flush()
        os.fsync(draft.fileno())
        os.link(draft.name, path)


def public_key() -> Ed25519PublicKey | None:
    """The key by which tree heads are checked; none where no head was ever signed."""
    return signing_key().public_key() if Path(settings.SIGNING_KEY_FILE).exists() else None


def key_id(key: Ed25519PublicKey) -> str:
    """Short name of a key: the first 16 hex digits of the SHA-256 of its raw bytes."""
    raw = key.public_bytes(serialization.Encoding.Raw, serialization.PublicFormat.Raw)
    return sha256(raw).hexdigest()[:16]


def is_signed(key: Ed25519PublicKey, signature: bytes, message: bytes) -> bool:
    """Whether a signature is the key's over a message."""
    try:
        key.verify(signature, message)
    except InvalidSignature:
        return False
    return True
