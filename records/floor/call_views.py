"""Pages of the call for the lead: the press without a script, how it stands, and the answers."""

from __future__ import annotations

import json
from contextlib import suppress
from uuid import UUID, uuid4

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from plant.people.acting import ActForm, one_of
from plant.people.areas import in_area
from plant.people.models import Person
from plant.speaking import say
from records.items.models import Hold
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.refusals import Conflict, Refused

from .actions import answer_call, note_by_voice, see_notice
from .by_voice import entry_to_answer, entry_to_tell
from .calls import calls_for, latest_calls, ringing, ringing_calls, sentence, state_of, where
from .envelopes import read_key
from .fields import strict_json
from .models import ByVoice, Call, CallAnswer, Seen
from .notices import held_words, notices_for
from .taking import take_entry
from .voice import voice_words, voices_of


@in_area("Floor")
@require_POST
def lead_call(request: HttpRequest) -> HttpResponse:
    """The press of a browser without script; it goes the way of every entry."""
    sent = request.POST
    key, station, unit = sent.get("key", ""), sent.get("station", ""), sent.get("unit", "")
    entry = {
        "key": key,
        "kind": "call",
        "made_at": clock.now().isoformat(),
        "done": True,
        "payload": {"station": station, "about": unit},
    }
    if not request.user.may("lead called"):  # type: ignore[union-attr]  # nobody else is let in
        raise PermissionDenied(say("Your role may not do this: %(act)s. Ask your lead.", act="lead called"))
    call, words = call_under(key), ""
    if call is None:
        words = take_entry(entry, request.user).words  # type: ignore[arg-type]
        call = call_under(key)
    messages.info(request, sentence(call, clock.now()) if call else words)
    here = call.station if call else None
    return redirect("floor:station", station=here.code) if here else redirect("floor:station_list")


def call_under(key: str) -> Call | None:
    """The call that stands under a key: a second press, some seconds after the first, is that one."""
    try:
        return Call.objects.with_answers().filter(entry__key=read_key(key)).first()
    except Refused:
        return None


@in_area("Floor")
def call_state(_: HttpRequest, key: UUID) -> JsonResponse:
    """How one call stands, for the tablet that made it."""
    call = get_object_or_404(Call.objects.with_answers(), entry__key=key)
    now = clock.now()
    how = ringing([call], now)
    return JsonResponse({"state": state_of(call, how.told(call), now), "words": sentence(call, now, how)})


@in_area("Floor")
def calls_waiting(request: HttpRequest) -> JsonResponse:
    """Calls that ring for the reader and holds that they are told of, as the poll of their page fetches them."""
    now, reader = clock.now(), reader_of(request)
    calls = [
        (str(c.entry.key), where(c), reverse("floor:call_answer", args=[c.entry.key]), "call")
        for c in calls_for(reader, now)
    ]
    holds = [(row.key, row.words, row.address, "hold") for row in notices_for(reader, now)]
    rows = [dict(zip(("key", "words", "address", "kind"), row, strict=True)) for row in (*calls, *holds)]
    return JsonResponse({"calls": rows})


def reader_of(request: HttpRequest) -> Person:
    """Whoever reads the page; nobody else is let in than one who is signed in."""
    return request.user  # type: ignore[return-value]


@in_area("Floor")
@require_POST
def notices_seen(request: HttpRequest) -> JsonResponse:
    """What the reader's page has shown them while it was in front. What is not theirs is passed over."""
    now, reader = clock.now(), reader_of(request)
    try:
        told = strict_json(request.body)
    except Refused as refused:
        return JsonResponse({"words": str(refused)}, status=400)
    named = told.get("keys") if isinstance(told, dict) else None
    theirs = {str(call.entry.key): call.entry for call in calls_for(reader, now)}
    theirs |= {row.key: row.entry for row in notices_for(reader, now)}
    for key in named if isinstance(named, list) else []:
        entry = theirs.get(key) if isinstance(key, str) else None
        if entry is not None and not Seen.objects.filter(of=entry, person=reader).exists():
            with suppress(Conflict):  # another page of theirs was faster
                see_notice(entry, said=Said(reader, uuid4(), now))
    return JsonResponse({"words": ""})


@in_area("Floor")
def call_list(request: HttpRequest) -> HttpResponse:
    """Calls that wait for the reader, and the latest before."""
    now = clock.now()
    reader = reader_of(request)
    rows = calls_for(reader, now) if reader.may("call answered") else ringing_calls(now)
    latest = latest_calls()
    how = ringing([*rows, *latest], now)
    waiting = [(call, where(call), sentence(call, now, how), how.told(call)) for call in rows]
    before = [(c, where(c), sentence(c, now, how), state_of(c, how.told(c), now)) for c in latest]
    return render(request, "floor/call_list.html", {"waiting": waiting, "before": before})


class VoiceForm(ActForm):
    """What was done by voice."""

    act = "told by voice"

    says = one_of(ByVoice.Says.choices, gettext_lazy("What was done"))
    # The browser asks for words where they are all that is told; every other key goes without.
    words = forms.CharField(
        label=gettext_lazy("In your own words"),
        required=False,
        max_length=200,
        widget=forms.TextInput(attrs={"required": True}),
    )


@in_area("Floor")
def call_told(request: HttpRequest, key: UUID) -> HttpResponse:
    """Note that one has phoned, or was told by voice, about a call or a hold."""
    call = Call.objects.with_answers().filter(entry__key=key).first()
    holds = Hold.objects.filter(entry__key=key).select_related("entry", "item__state")
    hold = None if call else get_object_or_404(holds[:1])
    of = call.entry if call else hold.entry  # type: ignore[union-attr]  # one of them is there
    form = VoiceForm(request)
    wanted = ("says", "words")
    if form.acted(lambda said: note_by_voice(of, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, _("It is noted. Whoever waits for it reads it."))
        return redirect("floor:call_list")
    notes = [voice_words([row]) for row in voices_of([of.pk])[of.pk]]
    code = hold.item.code if hold else ""
    what = where(call) if call else held_words(holds)
    context = {"what": what, "notes": notes, "code": code, "entry": json.dumps(entry_to_tell(key))}
    return form.page("floor/call_told.html", context)


class AnswerForm(ActForm):
    """What the lead says to a call."""

    act = "call answered"

    says = one_of(CallAnswer.Says.choices, gettext_lazy("What is to be done"))
    # The browser asks for words where they are all that is told; every other key goes without.
    words = forms.CharField(
        label=gettext_lazy("In your own words"),
        required=False,
        max_length=200,
        widget=forms.TextInput(attrs={"required": True}),
    )


@in_area("Floor")
def call_answer(request: HttpRequest, key: UUID) -> HttpResponse:
    """Answer a call."""
    call = get_object_or_404(Call.objects.with_answers(), entry__key=key)
    form = AnswerForm(request)
    wanted = ("says", "words")
    if form.acted(lambda said: answer_call(call, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, _("%(name)s is told.") % {"name": call.entry.by.name})
        return redirect("floor:call_list")
    how = ringing([call], clock.now())
    told = {"call": call, "where": where(call), "now": sentence(call, how.now, how), "told": how.told(call)}
    told |= {"entry": json.dumps(entry_to_answer(key))}
    return form.page("floor/call_answer.html", told)
