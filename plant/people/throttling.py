"""Whose wrong passwords are counted together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest


def typed_badge(request: HttpRequest | None, credentials: Mapping[str, Any] | None = None) -> str:
    """The badge as typed, case and outer blanks left out: a badge typed in another case is no other badge."""
    typed = (credentials or {}).get("username") or (request.POST.get("username") if request else None)
    return str(typed or "").strip().lower()


def address_told_by_proxy(request: HttpRequest) -> str:
    """Where a request comes from when a proxy of this machine hands it on; the proxy writes the header afresh."""
    return request.META.get("HTTP_X_REAL_IP") or request.META.get("REMOTE_ADDR", "")


def nobody_named(*_: object) -> str:
    """How a log speaks of who typed a wrong password: badge and address stand in the table of attempts alone."""
    return "one badge from one address"
