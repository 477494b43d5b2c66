"""Review on bad days: the tablets of the works, and one that is lost locked out."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from plant.people.acting import ActForm, one_of
from plant.people.areas import in_area
from plant.people.models import DeviceEnded
from records.steps.actions import lock_out_tablet, settle_tablet
from records.steps.actions.tablets import doubts_left

from .locked import tablets_here


class LockOutForm(ActForm):
    """What became of a tablet."""

    act = "tablet locked out"

    reason = one_of(DeviceEnded.Reason.choices, "What became of it")
    words = forms.CharField(label="What is to be said of it", required=False, max_length=200)


class SettleForm(ActForm):
    """How it is known what was done on a tablet that was lost."""

    act = "tablet settled"

    words = forms.CharField(label="How do you know what was done on it?", max_length=200)


@in_area("Review")
def tablet_list(request: HttpRequest) -> HttpResponse:
    """Each tablet: station, last contact, unsent as last told."""
    rows = tablets_here()
    silent = sum(row.ended is None and row.contact is None for row in rows)
    return render(request, "floor/tablet_list.html", {"tablets": rows, "silent": silent})


@in_area("Review")
def tablet_lock_out(request: HttpRequest, code: str) -> HttpResponse:
    """Lock a tablet out, with what that does told before the press."""
    found = next((row for row in tablets_here() if row.code == code), None)
    if found is None:
        raise Http404(f"No tablet {code} is registered here.")
    form = LockOutForm(request)
    wanted = ("reason", "words")
    if form.acted(lambda said: lock_out_tablet(code, **{n: form.cleaned_data[n] for n in wanted}, said=said)):
        messages.success(request, f"{code} is locked out. Nobody signs in there any more.")
        return redirect("days:tablet_list")
    return form.page("floor/tablet_lock_out.html", {"tablet": found})


@in_area("Review")
def tablet_settle(request: HttpRequest, code: str) -> HttpResponse:
    """It is known what was done on a tablet that was lost: what is still possible by it is taken back."""
    found = next((row for row in tablets_here() if row.code == code and row.ended and row.ended.leaves_doubt), None)
    if found is None or found.ended is None:
        raise Http404(f"No tablet {code} is locked out and leaves a doubt.")
    form = SettleForm(request)
    if form.acted(lambda said: settle_tablet(code, words=form.cleaned_data["words"], said=said)):
        messages.success(request, f"What was done on {code} is known. Nothing is possible because of it any more.")
        return redirect("days:tablet_list")
    related = ("child__state", "child__revision__part", "parent__state", "parent__revision__part")
    doubts = doubts_left([found.ended]).select_related(*related).order_by("parent_id", "child_id")
    return form.page("floor/tablet_settle.html", {"tablet": found, "doubts": list(doubts)})
