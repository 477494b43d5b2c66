"""A person's or tablet's key as a browser makes it, and what it signs: P-256, by the same reference library."""

import base64
from dataclasses import dataclass, field
from uuid import uuid4

from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature

from plant.equipment.actions import register_tablet
from plant.people.actions import make_key
from plant.people.models import Device, Person
from records.floor.proving import signed_text
from records.ledger.acts import Said
from tests import builders


def told(value: bytes) -> str:
    """Bytes in base64url without padding."""
    return base64.urlsafe_b64encode(value).decode().rstrip("=")


@dataclass
class Key:
    """A key pair of a device."""

    private: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))

    @property
    def public(self) -> str:
        form = (serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)
        return told(self.private.public_key().public_bytes(*form))

    def signs(self, message: bytes) -> str:
        """The signature as WebCrypto gives it: r and s."""
        r, s = decode_dss_signature(self.private.sign(message, ec.ECDSA(hashes.SHA256())))
        return told(r.to_bytes(32) + s.to_bytes(32))

    def entry(self, sent: dict) -> dict:
        """An entry signed by its maker."""
        sent = sent | {"signer": self.public, "salt": uuid4().hex}
        return sent | {"signature": self.signs(signed_text(sent).encode())}


def a_tablet(station: str = "MOULD-1", *, key: Key | None = None) -> Device:
    """A registered tablet."""
    return register_tablet(station, public_key=(key or Key()).public, said=builders.said(0))


def a_key(badge: str, device: Device) -> Key:
    """The key that a person has made on a tablet."""
    key = Key()
    make_key(device, key.public, said=Said(Person.objects.get(badge=badge), uuid4(), builders.moment(0)))
    return key
