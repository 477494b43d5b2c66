"""Whose wrong passwords and PINs are counted together, wherever one is asked for: at the door, or to sign."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from axes.handlers.proxy import AxesProxyHandler
from django.contrib.auth import get_user_model
from django.http import HttpRequest


def typed_badge(request: HttpRequest | None, credentials: Mapping[str, Any] | None = None) -> str:
    """The badge as typed, case and outer blanks left out: a badge typed in another case is no other badge."""
    typed = (credentials or {}).get("username") or (request.POST.get("username") if request else None)
    return str(typed or "").strip().lower()


def may_guess(request: HttpRequest, badge: str) -> bool:
    """Whether a password or PIN of a badge may be tried now; not for a while after too many wrong ones."""
    return bool(AxesProxyHandler.is_allowed(request, {"username": badge}))


def count_wrong(request: HttpRequest, badge: str) -> None:
    """Count a wrong password or PIN of a badge."""
    AxesProxyHandler.user_login_failed(get_user_model(), {"username": badge}, request)


def address_told_by_proxy(request: HttpRequest) -> str:
    """Where a request comes from when a proxy of this machine hands it on; the proxy writes the header afresh."""
    return request.META.get("HTTP_X_REAL_IP") or request.META.get("REMOTE_ADDR", "")


def nobody_named(*_: object) -> str:
    """How a log speaks of who typed a wrong password: badge and address stand in the table of attempts alone."""
    return "one badge from one address"
