"""The hand-over of a shift: the page, the two signatures below it, and those before."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.auth import authenticate
from django.core import signing
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from plant.people.acting import ActForm
from plant.people.areas import in_area
from plant.people.middleware import BY_TABLET
from plant.people.models import Person
from plant.people.seconds import second_by_pin
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.refusals import Refused

from .actions import Line, hand_over
from .handing import handed_over, lines_now, sections_of
from .models import HandOver

LATEST = 200
SALT = "records.floor.handing"
# Longer than that, and the page no longer says what is. A choice of this project, no source.
COUNTS_FOR_S = 30 * 60


class HandOverForm(ActForm):
    """The signatures below the page: who hands over is signed in, who takes over signs beside them.

    On a tablet of the works that is by badge and PIN, elsewhere by badge and password.
    """

    act = "shift handed over"

    shown = forms.CharField(widget=forms.HiddenInput)
    words = forms.CharField(
        label="What else the next shift must know", required=False, max_length=400, widget=forms.Textarea({"rows": 2})
    )
    badge = forms.CharField(label="Badge of the lead who takes over", max_length=40, help_text="Scan it or type it.")
    password = forms.CharField(
        label="Their password", widget=forms.PasswordInput(attrs={"autocomplete": "off"}), strip=False
    )

    pin = forms.CharField(
        label="Their PIN", widget=forms.PasswordInput(attrs={"autocomplete": "off", "inputmode": "numeric"})
    )

    def __init__(self, request: HttpRequest, **more: Any) -> None:
        super().__init__(request, **more)
        del self.fields["password" if request.session.get(BY_TABLET) else "pin"]

    def clean_shown(self) -> list[Line]:
        """The lines that the page showed when it was drawn."""
        try:
            told = signing.loads(self.cleaned_data["shown"], salt=SALT, max_age=COUNTS_FOR_S)
        except signing.BadSignature as wrong:
            raise ValidationError("This page is too old to be signed. Open it again and read it.") from wrong
        return [Line(*line) for line in told]

    def clean(self) -> None:
        """Who takes over, by badge and secret; too many wrong ones lock the badge out as at the door."""
        told = self.cleaned_data
        person = None
        if "badge" in told and "pin" in told:
            try:
                person = second_by_pin(self.request, told["badge"], told["pin"])
            except Refused as refused:
                raise ValidationError(str(refused)) from refused
        if "badge" in told and "password" in told:
            person = authenticate(self.request, username=told["badge"].strip(), password=told["password"])
            if not isinstance(person, Person):
                raise ValidationError("This badge and password do not belong together. Nothing was signed.")
        told["coming"] = person


def shown_text(lines: list[Line]) -> str:
    """The lines of a page as its form carries them."""
    return signing.dumps([[line.about, line.code, line.says] for line in lines], salt=SALT, compress=True)


@in_area("Floor")
def hand_over_page(request: HttpRequest) -> HttpResponse:
    """Everything that the next lead must know of, and the two signatures."""
    now = clock.now()
    lines = lines_now(now)
    form = HandOverForm(request, initial={"shown": shown_text(lines)})
    may = request.user.may(form.act)  # type: ignore[union-attr]  # nobody else is let in
    if request.method == "POST":
        form.ask_right()
    if form.acted(lambda said: _signed(form.cleaned_data, said)):
        messages.success(request, f"Handed over to {form.made.coming.name}.")
        return redirect("floor:hand_over_before", key=form.made.entry.key)
    if request.method == "POST" and "shown" in form.cleaned_data:
        lines = form.cleaned_data["shown"]
    context = {
        "sections": sections_of(lines),
        "now": now,
        "form": form,
        "may": may,
        "last": handed_over().first(),
    }
    return render(request, "floor/hand_over.html", context)


def _signed(told: dict[str, Any], said: Said) -> HandOver:
    return hand_over(told["shown"], coming=told["coming"], words=told["words"], said=said)


@in_area("Floor")
def hand_over_list(request: HttpRequest) -> HttpResponse:
    """Shifts handed over, the latest first."""
    return render(request, "floor/hand_over_list.html", {"rows": handed_over()[:LATEST]})


@in_area("Floor")
def hand_over_before(request: HttpRequest, key: UUID) -> HttpResponse:
    """One page as it was signed."""
    found = get_object_or_404(handed_over(), entry__key=key)
    context = {"hand_over": found, "sections": sections_of(list(found.lines.order_by("n")))}
    return render(request, "floor/hand_over_before.html", context)
