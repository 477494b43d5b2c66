"""Pages of the Rulebook: what is in force by revision, a change proposed, another person's approved."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from plant.people.areas import in_area
from records.ledger.clock import clock

from . import in_force, specs, writing_back
from .actions import approve_change, propose_change
from .comparing import compared
from .forms import ApproveForm, BandForm, MixForm, PartForm, ProposeForm, RouteForm, RulebookForm
from .models import (
    CharacteristicRevision,
    MixRevision,
    PartRevision,
    Proposal,
    RouteRevision,
    RulebookRevision,
)


@in_area("Rulebook")
def rulebook(request: HttpRequest) -> HttpResponse:
    """Everything in force, by revision, and what waits for approval."""
    now = clock.now()
    context = {
        "waiting": in_force.proposals_waiting(),
        "parts": in_force.parts(now),
        "bands": in_force.bands(now),
        "routes": in_force.routes(now),
        "recipes": in_force.recipes(now),
        "mixes": in_force.mixes(now),
        "settings": in_force.settings_of_works(now),
    }
    return render(request, "catalogue/rulebook.html", context)


# What can be proposed: its form, the table of its revisions, and how a revision is written back.
KINDS: dict[str, tuple[type[ProposeForm], Any, Callable[[Any], specs.Proposable]]] = {
    "part": (PartForm, PartRevision, writing_back.part_spec),
    "band": (BandForm, CharacteristicRevision, writing_back.band_spec),
    "route": (RouteForm, RouteRevision, writing_back.route_spec),
    "mix": (MixForm, MixRevision, writing_back.mix_spec),
    "settings": (RulebookForm, RulebookRevision, writing_back.rulebook_spec),
}


def change_propose(request: HttpRequest, kind: str) -> HttpResponse:
    """Propose a change, beginning from the revision that ``of`` names."""
    if kind not in KINDS:
        raise Http404(f"Nothing of the kind {kind} stands in the Rulebook.")
    form_class, revisions, written = KINDS[kind]
    number = request.GET.get("of", "")
    standing = get_object_or_404(revisions, pk=number) if number.isdigit() else None
    form = form_class(request, written(standing) if standing else None)
    if form.acted(lambda said: propose_change(form.spec(), reason=form.cleaned_data["reason"], said=said)):
        messages.success(request, "Proposed. It is in force once somebody else approves it.")
        return redirect("catalogue:proposal", number=form.made.pk)
    return form.page("catalogue/change_propose.html", {"standing": standing})


@in_area("Rulebook")
def proposal(request: HttpRequest, number: int) -> HttpResponse:
    """A proposal: who, why, what it would bring into force; and its approval by somebody else."""
    rows = Proposal.objects.select_related("reason", "entry__by__name_words", "approval__approver__name_words")
    found = get_object_or_404(rows, pk=number)
    form = ApproveForm(request)
    if form.acted(lambda said: approve_change(found, said=said)):
        messages.success(request, f"Approved: {found.what} is in force.")
        return redirect("catalogue:rulebook")
    approval = getattr(found, "approval", None)
    may_approve = approval is None and request.user.may("change approved")  # type: ignore[union-attr]
    context = {
        "proposal": found,
        "approval": approval,
        "revisions": [compared(kind, row) for kind, row in in_force.revisions_of(found)],
        "may_approve": may_approve and found.entry.by_id != request.user.pk,
        "form": form,
    }
    status = 403 if form.refused == "not-allowed" else 200
    return render(request, "catalogue/proposal.html", context, status=status)
