"""The address that takes entries of the floor, and the one that takes their photos ahead of them."""

from __future__ import annotations

from django.contrib.auth import logout
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, JsonResponse
from django.utils import translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from plant.people.middleware import DEVICE
from plant.people.models import Person
from plant.people.tablets import is_locked_out
from records.ledger.canonical import time_text
from records.ledger.clock import clock
from records.ledger.photos import keep_photo
from records.ledger.refusals import Refused

from .tablets import hear_of
from .taking import read_batch, take_batch


@login_not_required  # a tablet is told in words that it is signed out; it is not led to another page
@require_POST
def entries_take(request: HttpRequest) -> JsonResponse:
    """Take a batch of entries and answer each; the answers stand in the order sent."""
    if stopped := _stopped(request):
        return stopped
    try:
        told, tablet = read_batch(request.body)
    except Refused as refused:
        return _said(400, refused.code, str(refused))
    except RequestDataTooBig:
        return _said(413, "too-large", _("This is too much at once. It is sent again in smaller parts by itself."))
    if tablet:
        hear_of(tablet)
    by: Person = request.user  # type: ignore[assignment]  # nobody else is let in
    with translation.override(by.language):  # what is refused or marked is read on the tablet
        answers = [answer.as_json() for answer in take_batch(told, by)]
    return JsonResponse({"server_time": time_text(clock.now()), "answers": answers})


@login_not_required
@require_POST
def photo_take(request: HttpRequest) -> JsonResponse:
    """Keep the photo that a tablet sends ahead of its entry, under the hash that it names; sent twice it is one."""
    if stopped := _stopped(request):
        return stopped
    try:
        kept = keep_photo(request.body)
    except Refused as refused:
        return _said(400, refused.code, str(refused))
    except RequestDataTooBig:
        return _said(413, "too-large", _("This photo is too large to be sent. Log it without the photo."))
    return JsonResponse({"server_time": time_text(clock.now()), "photo": kept.sha256})


def _stopped(request: HttpRequest) -> JsonResponse | None:
    """Why nothing is taken from this tablet at present; none where it is."""
    if not request.user.is_authenticated:
        return _said(401, "signed-out", _("Sign in first. What you send is kept on this tablet until then."))
    device = request.session.get(DEVICE)
    if device and is_locked_out(device):
        logout(request)
        return _said(
            401, "locked-out", _("This tablet is locked. What it keeps stays here. Use another one, or a sheet.")
        )
    return None


def _said(status: int, code: str, words: str) -> JsonResponse:
    return JsonResponse({"server_time": time_text(clock.now()), "code": code, "words": words}, status=status)
