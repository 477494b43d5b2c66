"""Signatures: the works' own Ed25519 key in a file, made on first start, and those of keys that devices keep."""

from __future__ import annotations

import os
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from tempfile import NamedTemporaryFile

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from django.conf import settings

from .refusals import Refused


def key_file() -> Path:
    """Where the key that signs is kept."""
    return Path(settings.SIGNING_KEY_FILE)


def signing_key() -> Ed25519PrivateKey:
    """The key in the file; made when there is none yet."""
    if not key_file().exists():
        keep_key(Ed25519PrivateKey.generate(), key_file())
    return read_key(key_file())


def read_key(path: Path) -> Ed25519PrivateKey:
    """The key in a file. Refuses ``key-unreadable``."""
    try:
        key = serialization.load_pem_private_key(path.read_bytes(), password=None)
    except (OSError, TypeError, ValueError, UnsupportedAlgorithm) as failure:
        raise _unreadable(path) from failure
    if not isinstance(key, Ed25519PrivateKey):
        raise _unreadable(path)
    return key


def _unreadable(path: Path) -> Refused:
    words = "%(path)s is no Ed25519 key that can be read; put its copy back, and give the program the right to read it."
    return Refused("key-unreadable", words, path=path)


def keep_key(key: Ed25519PrivateKey, path: Path) -> None:
    """Put a key into a file of its own; one that stands there already stays."""
    path.parent.mkdir(parents=True, exist_ok=True)
    pem = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    # Written under another name and linked, so that two processes that start at once share one key.
    with NamedTemporaryFile(dir=path.parent, prefix=path.name) as draft, suppress(FileExistsError):
        draft.write(pem)
        draft.flush()
        os.fsync(draft.fileno())
        os.link(draft.name, path)


def raw(key: Ed25519PublicKey) -> bytes:
    """The 32 bytes of a public key (RFC 8032)."""
    return key.public_bytes(serialization.Encoding.Raw, serialization.PublicFormat.Raw)


def key_id(key: bytes) -> str:
    """Short name of a public key: the first 16 hex digits of the SHA-256 of its raw bytes."""
    return sha256(key).hexdigest()[:16]


def is_signed(key: bytes, signature: bytes, message: bytes) -> bool:
    """Whether a signature is that of a raw public key over a message."""
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(signature, message)
    except (InvalidSignature, ValueError):  # a key or signature of another length is none
        return False
    return True


POINT, HALF = 65, 32


def is_signed_on_device(point: bytes, signature: bytes, message: bytes) -> bool:
    """Whether a signature is that of a key of a device over a message: ECDSA, P-256, SHA-256 (FIPS 186-5).

    ``point`` is the public key uncompressed, ``signature`` r and s of 32 bytes each, as browsers give them.
    """
    if len(point) != POINT or len(signature) != 2 * HALF:
        return False
    r, s = int.from_bytes(signature[:HALF]), int.from_bytes(signature[HALF:])
    try:
        key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
        key.verify(encode_dss_signature(r, s), message, ec.ECDSA(hashes.SHA256()))
    except (InvalidSignature, ValueError):  # a point that is not on the curve is no key
        return False
    return True
