"""Pages of the call for the lead: the press without a script, how it stands, and the answers."""

from __future__ import annotations

from uuid import UUID

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from plant.people.acting import ActForm, one_of
from plant.people.areas import in_area
from records.ledger.clock import clock

from .actions import answer_call
from .calls import calls_for, is_passed_on, latest_calls, sentence, state_of, where
from .models import Call, CallAnswer
from .taking import take_entry


@in_area("Floor")
@require_POST
def lead_call(request: HttpRequest) -> HttpResponse:
    """The press of a browser without script; it goes the way of every entry."""
    sent = request.POST
    station, unit = sent.get("station", ""), sent.get("unit", "")
    entry = {
        "key": sent.get("key", ""),
        "kind": "call",
        "made_at": clock.now().isoformat(),
        "done": True,
        "payload": {"station": station, "about": unit},
    }
    if not request.user.may("lead called"):  # type: ignore[union-attr]  # nobody else is let in
        raise PermissionDenied(_("Your role may not do this: %(act)s. Ask your lead.") % {"act": "lead called"})
    answer = take_entry(entry, request.user)  # type: ignore[arg-type]
    call = Call.objects.with_answers().filter(entry__key=answer.key).first() if answer.key else None
    messages.info(request, sentence(call, clock.now()) if call else answer.words)
    return redirect("floor:station", station=station) if station else redirect("floor:station_list")


@in_area("Floor")
def call_state(_: HttpRequest, key: UUID) -> JsonResponse:
    """How one call stands, for the tablet that made it."""
    call = get_object_or_404(Call.objects.with_answers(), entry__key=key)
    now = clock.now()
    return JsonResponse({"state": state_of(call, now), "words": sentence(call, now)})


@in_area("Floor")
def calls_waiting(request: HttpRequest) -> JsonResponse:
    """Calls that ring for the reader, as the poll of a lead's page fetches them; small and cheap."""
    rows = calls_for(request.user, clock.now())  # type: ignore[arg-type]  # nobody else is let in
    return JsonResponse(
        {
            "calls": [
                {
                    "key": str(call.entry.key),
                    "words": where(call),
                    "address": reverse("floor:call_answer", args=[call.entry.key]),
                }
                for call in rows
            ]
        }
    )


@in_area("Floor")
def call_list(request: HttpRequest) -> HttpResponse:
    """Calls that wait for the reader, and the latest before."""
    now = clock.now()
    rows = calls_for(request.user, now)  # type: ignore[arg-type]  # nobody else is let in
    waiting = [(call, where(call), is_passed_on(call, now)) for call in rows]
    before = [(call, where(call), sentence(call, now), state_of(call, now)) for call in latest_calls()]
    return render(request, "floor/call_list.html", {"waiting": waiting, "before": before})


class AnswerForm(ActForm):
    """What the lead says to a call."""

    act = "call answered"

    says = one_of(CallAnswer.Says.choices, _("What is to be done"))
    words = forms.CharField(label=_("In your own words"), required=False, max_length=200)


@in_area("Floor")
def call_answer(request: HttpRequest, key: UUID) -> HttpResponse:
    """Answer a call."""
    call = get_object_or_404(Call.objects.with_answers(), entry__key=key)
    form = AnswerForm(request)
    wanted = ("says", "words")
    if form.acted(lambda said: answer_call(call, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, _("%(name)s is told.") % {"name": call.entry.by.name})
        return redirect("floor:call_list")
    return form.page("floor/call_answer.html", {"call": call, "where": where(call), "now": sentence(call, clock.now())})
