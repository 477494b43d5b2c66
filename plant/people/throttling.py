"""Whose wrong passwords are counted together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest


def typed_badge(request: HttpRequest | None, credentials: Mapping[str, Any] | None = None) -> str:
    """The badge as typed, case and outer blanks left out: a badge typed in another case is no other badge."""
    typed = (credentials or {}).get("username") or (request.POST.get("username") if request else None)
    return str(typed or "").strip().lower()
