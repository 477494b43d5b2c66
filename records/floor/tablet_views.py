"""Review on bad days: the tablets of the works, and one that is lost locked out."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from plant.people.acting import ActForm, one_of
from plant.people.areas import in_area
from plant.people.models import DeviceEnded
from records.steps.actions import lock_out_tablet

from .locked import tablets_here


class LockOutForm(ActForm):
    """What became of a tablet."""

    act = "tablet locked out"

    reason = one_of(DeviceEnded.Reason.choices, "What became of it")
    words = forms.CharField(label="What is to be said of it", required=False, max_length=200)


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
