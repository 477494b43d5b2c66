"""The address that takes entries of the floor, and the one that takes their photos ahead of them."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_POST

from records.ledger.canonical import time_text
from records.ledger.clock import clock
from records.ledger.photos import keep_photo
from records.ledger.refusals import Refused

from .taking import read_batch, take_batch


@login_not_required  # a tablet is told in words that it is signed out; it is not led to another page
@require_POST
def entries_take(request: HttpRequest) -> JsonResponse:
    """Take a batch of entries and answer each; the answers stand in the order sent."""
    if not request.user.is_authenticated:
        return _said(401, "signed-out", "Sign in first. What you send is kept on this tablet until then.")
    try:
        told = read_batch(request.body)
    except Refused as refused:
        return _said(400, refused.code, str(refused))
    answers = [answer.as_json() for answer in take_batch(told, request.user)]
    return JsonResponse({"server_time": time_text(clock.now()), "answers": answers})


@login_not_required
@require_POST
def photo_take(request: HttpRequest) -> JsonResponse:
    """Keep the photo that a tablet sends ahead of its entry, under the hash that it names; sent twice it is one."""
    if not request.user.is_authenticated:
        return _said(401, "signed-out", "Sign in first. What you send is kept on this tablet until then.")
    try:
        kept = keep_photo(request.body)
    except Refused as refused:
        return _said(400, refused.code, str(refused))
    return JsonResponse({"server_time": time_text(clock.now()), "photo": kept.sha256})


def _said(status: int, code: str, words: str) -> JsonResponse:
    return JsonResponse({"server_time": time_text(clock.now()), "code": code, "words": words}, status=status)
