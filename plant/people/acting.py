"""Forms that act: what every page that writes has in common.

A form is drawn with a key and a time, both hidden. Pressing twice sends the same key and the same content, so the
second press gives back what the first one made. The view asks the form, the form calls one action:

    form = HoldForm(request)
    if form.acted(lambda said: place_hold(code, reason=form.cleaned_data["reason"], said=said)):
        return redirect("trace:unit", code=code)
    return form.page("trace/hold_place.html", {"item": item})

``acted`` is true once the action has been taken. A refusal becomes an error of the form, told in its own words;
``page`` answers 403 where the role may not do the act, otherwise 200. ``form.made`` is what the action gave back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, ClassVar
from uuid import uuid4

from django import forms
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.refusals import Refused


class TimeDrawn(forms.CharField):
    """The moment at which a form was drawn, to the microsecond and with its offset."""

    widget = forms.HiddenInput

    def clean(self, value: Any) -> datetime:
        try:
            moment = datetime.fromisoformat(super().clean(value))
        except ValueError as wrong:
            raise forms.ValidationError("This page is damaged. Open it again.") from wrong
        if moment.tzinfo is None:
            raise forms.ValidationError("This page is damaged. Open it again.")
        return min(moment, clock.now())


class ActForm(forms.Form):
    """A form whose sending is one act. ``act`` names it as the table of rights does."""

    act: ClassVar[str] = ""

    key = forms.UUIDField(widget=forms.HiddenInput)
    drawn_at = TimeDrawn()

    def __init__(self, request: HttpRequest, *, initial: Mapping[str, Any] | None = None) -> None:
        self.request = request
        self.made: Any = None
        self.refused = ""
        sent = request.POST if request.method == "POST" else None
        drawn = {"key": uuid4(), "drawn_at": clock.now().isoformat()}
        super().__init__(sent, request.FILES if sent is not None else None, initial={**drawn, **(initial or {})})

    def said(self) -> Said:
        """Who says it, under the key and at the time of this form."""
        return Said(self.request.user, self.cleaned_data["key"], self.cleaned_data["drawn_at"])  # type: ignore[arg-type]

    def acted(self, action: Callable[[Said], Any]) -> bool:
        """Whether the form was sent and its action taken. A refusal becomes an error of the form."""
        if not self.is_valid():
            return False
        try:
            self.made = action(self.said())
        except Refused as refused:
            self.refused = refused.code
            self.add_error(None, str(refused))
            return False
        return True

    def page(self, template: str, context: Mapping[str, Any] | None = None) -> HttpResponse:
        """The page with this form. Nobody is shown a form whose act their role may not do."""
        if self.request.method != "POST" and self.act and not self.request.user.may(self.act):  # type: ignore[union-attr]
            raise PermissionDenied(f"Your role may not do this: {self.act}. Ask your lead.")
        status = 403 if self.refused == "not-allowed" else 200
        return render(self.request, template, {**(context or {}), "form": self}, status=status)
