"""Canonical form of rows, arguments and payloads: RFC 8785, whole numbers and text only."""

from __future__ import annotations

from datetime import UTC, date, datetime
from hashlib import sha256
from typing import Any
from uuid import UUID

import rfc8785
from django.db import models

from .patterns import WordsField


def time_text(moment: datetime) -> str:
    """RFC 3339 in UTC with six decimals."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def plain(value: Any) -> Any:
    """A value as payloads carry it. Floats are not let in."""
    match value:
        case None | bool() | str():
            return value
        case int():
            return int(value)
        case datetime():
            return time_text(value)
        case date():
            return value.isoformat()
        case UUID():
            return str(value)
        case bytes() | memoryview():
            return bytes(value).hex()
        case dict():
            return {str(key): plain(item) for key, item in value.items()}
        case list() | tuple():
            return [plain(item) for item in value]
        case models.Model():
            return value.pk
    raise TypeError(f"a payload can't carry a {type(value).__name__}")


def canonical(value: Any) -> bytes:
    """RFC 8785 bytes of a value."""
    return rfc8785.dumps(plain(value))


def digest(value: Any) -> bytes:
    """SHA-256 of the canonical form."""
    return sha256(canonical(value)).digest()


def is_bulk(field: models.Field) -> bool:
    """Whether a column holds bytes of any length: payloads carry their SHA-256 instead."""
    return isinstance(field, models.BinaryField) and field.max_length is None


def row_payload(row: models.Model) -> dict[str, Any]:
    """A record row as the payload carries it: its table, number and every stored column but the entry."""
    content: dict[str, Any] = {"t": row._meta.db_table}
    for field in row._meta.concrete_fields:
        if field.name == "entry":
            continue
        value = getattr(row, field.attname)
        if isinstance(field, WordsField) and value is not None:
            value = getattr(row, field.name).commitment
        elif is_bulk(field) and value is not None:
            value = sha256(value).digest()
        content[field.attname] = plain(value)
    return content
