"""The hand-over of a shift: the page, the two signatures below it, and those before.

On a tablet of the works it is a screen of the floor, in the language of the badge, and its signing an entry like every
other: by the keys of both, through the outbox. At a desk the second lead signs by badge and password.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import authenticate
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import translation
from django.utils.translation import gettext_lazy as _

from plant.people.acting import ActForm
from plant.people.areas import in_area
from plant.people.middleware import BY_TABLET, DEVICE
from plant.people.models import Person
from plant.people.seconds import second_by_pin
from plant.speaking import say
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.models import Signature
from records.ledger.refusals import Refused

from .actions import Seen, hand_over
from .handing import handed_over, lines_now, sections_of
from .models import HandOver
from .shown import Shown, read_shown, shown_text

LATEST = 200
LABEL = "hand-over"


def on_tablet(request: HttpRequest) -> bool:
    """Whether the page stands on a tablet of the works, not at a desk."""
    return bool(request.session.get(BY_TABLET) or request.session.get(DEVICE))


@contextmanager
def framed(request: HttpRequest, page: str) -> Iterator[str]:
    """The template of a page in its frame. The floor speaks the language of the badge, the desk is English."""
    if on_tablet(request):
        yield f"floor/{page}_floor.html"
    else:
        with translation.override(settings.LANGUAGE_CODE):
            yield f"floor/{page}.html"


class HandOverForm(ActForm):
    """The signatures below the page: who hands over is signed in, who takes over signs beside them.

    On a tablet the outbox signs; where it keeps nothing, badge and PIN are asked for here. At a desk it is a password.
    """

    act = "shift handed over"

    shown = forms.CharField(widget=forms.HiddenInput)
    words = forms.CharField(
        label=_("What else the next shift must know"),
        required=False,
        max_length=400,
        widget=forms.Textarea({"rows": 2}),
    )
    badge = forms.CharField(
        label=_("Badge of the lead who takes over"), max_length=40, help_text=_("Scan it or type it.")
    )
    password = forms.CharField(
        label=_("Their password"), widget=forms.PasswordInput(attrs={"autocomplete": "off"}), strip=False
    )

    pin = forms.CharField(
        label=_("Their PIN"), widget=forms.PasswordInput(attrs={"autocomplete": "off", "inputmode": "numeric"})
    )

    def __init__(self, request: HttpRequest, **more: Any) -> None:
        super().__init__(request, **more)
        del self.fields["password" if on_tablet(request) else "pin"]

    def clean_shown(self) -> Shown:
        """The lines that the page showed when it was drawn, and when that was."""
        try:
            return read_shown(self.cleaned_data["shown"], clock.now())
        except Refused as refused:
            raise ValidationError(str(refused)) from refused

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


@in_area("Floor")
def hand_over_page(request: HttpRequest) -> HttpResponse:
    """Everything that the next lead must know of, and the two signatures."""
    with framed(request, "hand_over") as template:
        return _page(request, template)


def _page(request: HttpRequest, template: str) -> HttpResponse:
    now = clock.now()
    lines = lines_now(now)
    shown = shown_text(lines, now)
    form = HandOverForm(request, initial={"shown": shown})
    may = request.user.may(form.act)  # type: ignore[union-attr]  # nobody else is let in
    if request.method == "POST":
        form.ask_right()
    if form.acted(lambda said: _signed(form.cleaned_data, said)):
        messages.success(request, say("Handed over to %(name)s.", name=form.made.coming.name))
        return redirect("floor:hand_over_before", key=form.made.entry.key)
    if request.method == "POST" and "shown" in form.cleaned_data:
        lines = form.cleaned_data["shown"].lines
    context = {
        "sections": sections_of(lines),
        "now": now,
        "form": form,
        "may": may,
        "last": handed_over().first(),
        "entry": json.dumps(entry_of_page(shown)),
    }
    return render(request, template, context)


def entry_of_page(shown: str) -> dict[str, object]:
    """The hand-over as the outbox of a tablet takes it; a script puts the words in that are written beside it."""
    second = say("The lead who takes over signs beside you.")
    return {"kind": "hand-over", "payload": {"shown": shown, "words": ""}, "label": LABEL, "needs_second": second}


def _signed(told: dict[str, Any], said: Said) -> HandOver:
    shown = told["shown"]
    return hand_over(shown.lines, coming=told["coming"], words=told["words"], seen=Seen(shown.at), said=said)


@in_area("Floor")
def hand_over_list(request: HttpRequest) -> HttpResponse:
    """Shifts handed over, the latest first."""
    with framed(request, "hand_over_list") as template:
        return render(request, template, {"rows": handed_over()[:LATEST]})


@in_area("Floor")
def hand_over_before(request: HttpRequest, key: UUID) -> HttpResponse:
    """One page as it was signed."""
    found = get_object_or_404(handed_over(), entry__key=key)
    by_key = Signature.objects.filter(entry=found.entry).values_list("is_second", flat=True)
    context = {"hand_over": found, "sections": sections_of(list(found.lines.order_by("n"))), "by_key": set(by_key)}
    with framed(request, "hand_over_before") as template:
        return render(request, template, context)
