"""Coming in on a tablet of the works: by badge and PIN, or by the person's key there; and how it is registered."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import uuid4

from django import forms
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.sessions.backends.db import SessionStore
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils import translation
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_POST

from plant.equipment.actions import register_tablet
from plant.equipment.models import Station
from plant.people.acting import ActForm
from plant.people.actions import make_key
from plant.people.areas import in_area
from plant.people.door import door_language, keep_language
from plant.people.middleware import BY_TABLET, DEVICE, SAT
from plant.people.models import Device, Person, PersonKey
from plant.people.queries import works_zone
from plant.people.tablets import check_proof, fresh_line, person_by_pin, pin_revision, read_bytes, tablet_by_code
from records.ledger.acts import Said
from records.ledger.canonical import time_text
from records.ledger.clock import clock
from records.ledger.refusals import Refused
from records.ledger.signing import is_signed_on_device

from .fields import LONGEST_CODE, Fields, strict_json
from .proving import LONGEST_SIGNATURE
from .sitting import check_sitting, sitting_of

LONGEST_LINE = 400
LEFT_S = 60
DJANGO = "django.contrib.auth.backends.ModelBackend"


@login_not_required  # nobody is in yet
@ensure_csrf_cookie
def sign_in_here(request: HttpRequest) -> JsonResponse:
    """A line for the tablet to sign; then the badge with PIN, or with a signature of the person's key there."""
    if request.method != "POST":
        line = fresh_line(request.GET.get("device", "")[:LONGEST_CODE])
        return JsonResponse({"line": line, "server_time": time_text(clock.now())})
    try:
        told = Fields(strict_json(request.body), works_zone())
        with translation.override(door_language(request, told.text("speaks"))):
            return _come_in(request, told)
    except Refused as refused:
        return JsonResponse({"code": refused.code, "words": str(refused)}, status=403)


def _come_in(request: HttpRequest, told: Fields) -> JsonResponse:
    try:
        device = tablet_by_code(told.text("device", needed=True))
        (person, sat), beside = _prove(told, device), told.truth("beside")
        if own := told.text("public_key", longest=LONGEST_SIGNATURE):
            _take_key(told, device, person, own)
    except Refused as refused:
        return JsonResponse({"code": refused.code, "words": str(refused)}, status=403)
    if not beside:  # a second person signs without coming in
        _leave_the_old_session(request)
        login(request, person, backend=DJANGO)
        request.session.update({DEVICE: device.code, BY_TABLET: True, SAT: time_text(sat)})
    told_back = {"badge": person.badge, "name": person.name, "pin": pin_revision(person)}
    answer = JsonResponse(told_back | {"sitting": sitting_of(person, device.code, sat)})
    if not beside:
        keep_language(answer, person.language)
    return answer


def _leave_the_old_session(request: HttpRequest) -> None:
    """The session before ends in a minute, not at once: what the tablet has under way in it would else be answered by
    taking the new session's cookie away.
    """
    if request.session.session_key:
        request.session.set_expiry(LEFT_S)
        request.session.save()
    request.session = SessionStore()


def _prove(told: Fields, device: Device) -> tuple[Person, datetime]:
    """Who it is and since when they sit here: from now by PIN, from the sitting's begin by the key.

    The tablet proves itself first. A badge that does not open is answered like a PIN that does not: nobody is told here
    which badges there are.
    """
    badge, pin = told.text("badge", needed=True), told.text("pin")
    line, proof = told.text("line", longest=LONGEST_LINE), told.text("proof", longest=LONGEST_SIGNATURE)
    message = check_proof(device, badge, line, proof)
    if pin:
        return person_by_pin(device, badge, pin), clock.now()
    signer, signature = (told.text(name, longest=LONGEST_SIGNATURE) for name in ("signer", "signature"))
    key = PersonKey.objects.filter(public_key=signer, device=device).select_related("person").first()
    if (
        key is None
        or not _opens(key, badge)
        or not is_signed_on_device(read_bytes(signer), read_bytes(signature), message)
    ):
        raise Refused("pin-first", "Come in with your PIN first: this tablet does not know you yet.")
    return key.person, check_sitting(told.text("sitting", longest=LONGEST_LINE), key.person, device.code, clock.now())


def _take_key(told: Fields, device: Device, person: Person, public_key: str) -> None:
    """The public half of the key that somebody who signs beside another has just made here. Their PIN comes with it."""
    if not told.text("pin"):
        raise Refused("pin-first", "Come in with your PIN first: this tablet does not know you yet.")
    if not PersonKey.objects.filter(public_key=public_key, person=person, device=device).exists():
        make_key(device, public_key, said=Said(person, uuid4(), clock.now(), device=device.code))


def _opens(key: PersonKey, badge: str) -> bool:
    """Whether a key lets the person of this badge in: it is theirs and counts, and the badge is open."""
    return key.person.badge.casefold() == badge.strip().casefold() and key.person.is_active and key.counts


@in_area("Floor")
@require_POST
def key_take(request: HttpRequest) -> JsonResponse:
    """The public half of the key that whoever is signed in has made on this tablet."""
    try:
        told = Fields(strict_json(request.body), works_zone())
        device = tablet_by_code(told.text("device", needed=True))
        person: Person = request.user  # type: ignore[assignment]  # the middleware lets nobody else in
        check_proof(device, person.badge, told.text("line", longest=LONGEST_LINE), told.text("proof", longest=100))
        public_key = told.text("public_key", needed=True, longest=LONGEST_SIGNATURE)
        known = PersonKey.objects.filter(public_key=public_key, person=person, device=device).first()
        if known is None:
            make_key(device, public_key, said=Said(person, uuid4(), clock.now(), device=device.code))
    except Refused as refused:
        return JsonResponse({"code": refused.code, "words": str(refused)}, status=403)
    return JsonResponse({"taken": public_key})


class TabletForm(ActForm):
    """The station at which a tablet is used; a script puts in the key that it has made."""

    act = "tablet registered"

    station = forms.ModelChoiceField(Station.objects.order_by("kind", "code"), to_field_name="code", label="Station")
    public_key = forms.CharField(
        widget=forms.HiddenInput,
        error_messages={"required": "This browser makes no keys: open the floor by https, or use another browser."},
    )


@in_area("Floor")
@ensure_csrf_cookie
def tablet_page(request: HttpRequest) -> HttpResponse:
    """This tablet: what it is registered as, and registering it."""
    form = TabletForm(request)

    def register(said: Said) -> Device:
        told: dict[str, Any] = form.cleaned_data
        return register_tablet(told["station"].code, public_key=told["public_key"], said=said)

    if form.acted(register):
        return redirect(f"{request.path}?code={form.made.code}")
    named = Device.objects.filter(code=request.GET.get("code", "")).select_related("ended").first()
    return form.page("floor/tablet.html", {"tablet": named})
