"""Forms that act: what every page that writes has in common.

A form is drawn with a key and a time, both hidden. Pressing twice sends the same key and the same content, so the
second press gives back what the first one made. The view asks the form, the form calls one action:

    form = HoldForm(request)
    if form.acted(lambda said: place_hold(code, reason=form.cleaned_data["reason"], said=said)):
        return redirect("trace:unit", code=code)
    return form.page("trace/hold_place.html", {"item": item})

``acted`` is true once the action has been taken; ``form.made`` is what it gave back. A refusal becomes an error of the
form, told in its own words. ``page`` answers 403 where the role may not do the act. Choices of a decision stand open
(``one_of``).
A ``PhotoField`` needs no more than its line in the form: the act carries the picture, whatever it is.
What lets something go (a release, the lifting of a hold) is a ``SigningForm``: it asks for the password once more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Any, ClassVar
from uuid import uuid4

from django import forms
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.photos import NAME, keep_photo, missing_of
from records.ledger.refusals import Refused

from .rights import not_yours
from .throttling import count_wrong, may_guess


class TimeDrawn(forms.CharField):
    """The moment at which a form was drawn, to the microsecond and with its offset."""

    widget = forms.HiddenInput

    def clean(self, value: Any) -> datetime:
        try:
            moment = datetime.fromisoformat(super().clean(value))
        except ValueError as wrong:
            raise forms.ValidationError(_("This page is damaged. Open it again.")) from wrong
        if moment.tzinfo is None:
            raise forms.ValidationError(_("This page is damaged. Open it again."))
        return min(moment, clock.now())


# What a field says of itself, in the words of the house: the first kind that it is.
FIELD_WORDS: tuple[tuple[type[forms.Field], dict[str, Any]], ...] = (
    (forms.FileField, {"required": "Choose the file.", "empty": "This file is empty. Export it once more."}),
    (
        forms.DateField,
        {"required": "Write a day, as 2026-12-31.", "invalid": "This is no day: write 2026-12-31."},
    ),
    (forms.ChoiceField, {"required": _("Choose one."), "invalid_choice": _("Choose one of the list.")}),
    (forms.ModelChoiceField, {"required": "Choose one.", "invalid_choice": "Choose one of the list."}),
    (forms.IntegerField, {"required": "Write a number.", "invalid": "Write a whole number."}),
    (forms.Field, {"required": _("Fill this in.")}),
)

LIBRARY_DASHES = "---------"


def speak_plainly(field: forms.Field) -> None:
    """Put the words of the house in place of the library's; what a field says of its own stays."""
    words = next(words for kind, words in FIELD_WORDS if isinstance(field, kind))
    for code, said in words.items():
        if field.error_messages.get(code) == _library_words(type(field), code):
            field.error_messages[code] = said


def type_as_text(field: forms.Field) -> None:
    """A whole number is typed as text: a browser throws away what it does not take for a number, so it was not kept."""
    if isinstance(field, forms.IntegerField):
        field.widget = forms.TextInput({"inputmode": "numeric"})


def _library_words(kind: type[forms.Field], code: str) -> Any:
    tables = (vars(base).get("default_error_messages", {}) for base in kind.__mro__)
    return next((table[code] for table in tables if code in table), None)


class PhotoInput(forms.FileInput):
    """Takes a photo, or a file; one that was kept already comes back with a form that is drawn once more."""

    kept = ""

    def __init__(self) -> None:
        super().__init__({"accept": "image/*", "capture": "environment"})

    def value_from_datadict(self, data: Mapping[str, Any], files: Any, name: str) -> Any:
        return files.get(name) or data.get(f"{name}-kept") or None

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        drawn = super().render(name, None, attrs, renderer)
        if not self.kept:
            return drawn
        words = "Your photo is kept. Choose another one only to put it in its place."
        return format_html(
            '<p class="hint">{}</p><input type="hidden" name="{}-kept" value="{}">{}', words, name, self.kept, drawn
        )


class PhotoField(forms.FileField):
    """A photo that the act of a form carries: kept as it is read, so that ``said`` names it."""

    widget = PhotoInput

    def __init__(self, label: str = "Photo", **more: Any) -> None:
        more.setdefault("required", False)
        super().__init__(label=label, error_messages={"empty": "This picture is empty. Take it once more."}, **more)

    def clean(self, data: Any, initial: Any = None) -> str:
        """Hash of the photo; empty where none was chosen."""
        if isinstance(data, str) and data:
            data = data if NAME.fullmatch(data) and not missing_of([data]) else None
        elif (sent := super().clean(data, initial)) is not None:
            try:
                data = keep_photo(sent.read()).sha256
            except Refused as refused:
                raise forms.ValidationError(str(refused)) from refused
        self.widget.kept = data or ""
        return data or ""


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
        for field in self.fields.values():
            type_as_text(field)

    @property
    def is_scanned_into(self) -> bool:
        """Whether a scanner may type into it before all is filled in: then the Enter behind a code must not send it."""
        scanned = [field for field in self.fields.values() if getattr(field, "is_scanned", False)]
        return bool(scanned) and len(self.visible_fields()) > 1

    def full_clean(self) -> None:
        for field in self.fields.values():
            speak_plainly(field)
        super().full_clean()

    def said(self) -> Said:
        """Who says it, under the key and at the time of this form, with its photos."""
        told = self.cleaned_data
        names = [told.get(name) for name, field in self.fields.items() if isinstance(field, PhotoField)]
        photos = tuple(name for name in names if name)
        return Said(self.request.user, told["key"], told["drawn_at"], photos=photos)  # type: ignore[arg-type]

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

    def ask_right(self) -> None:
        """Answer 403 to those whose role may not do the act of this form."""
        if self.act and not self.request.user.may(self.act):  # type: ignore[union-attr]  # nobody else is let in
            raise PermissionDenied(not_yours(self.act))

    def page(self, template: str, context: Mapping[str, Any] | None = None) -> HttpResponse:
        """The page with this form. Nobody is shown a form whose act their role may not do."""
        self.ask_right()
        for field in self.fields.values():
            if isinstance(field, forms.ModelChoiceField) and field.empty_label == LIBRARY_DASHES:
                field.empty_label = "Choose" if field.required else "Not told"
        return render(self.request, template, {**(context or {}), "form": self})


def one_of(choices: Iterable[tuple[Any, Any]], label: Any, **more: Any) -> forms.ChoiceField:
    """A field whose choices all stand open, each with a capital; none is chosen beforehand.

    What a choice says is asked when it is drawn: a form is made once, and its page speaks several languages.
    """
    these = list(choices)

    def shown() -> list[tuple[Any, str]]:
        return [(value, str(word)[:1].upper() + str(word)[1:]) for value, word in these]

    return forms.ChoiceField(choices=shown, widget=forms.RadioSelect, label=label, **more)


class SigningForm(ActForm):
    """An act that a person signs once more by password: a screen left open must not release or free anything."""

    password = forms.CharField(
        label=_("Your password"),
        help_text=_("Signed with your name."),
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def order_fields(self, field_order: Any) -> None:
        """The password stands last, below what is signed."""
        super().order_fields([name for name in self.fields if name != "password"])

    def clean_password(self) -> str:
        """The password of whoever is signed in; wrong ones count as at the door, else a session would be a place to
        try them out.
        """
        password, badge = str(self.cleaned_data["password"]), self.request.user.get_username()
        if not may_guess(self.request, badge):
            raise forms.ValidationError(_("Too many wrong passwords with this badge. Wait a quarter of an hour."))
        if not self.request.user.check_password(password):
            count_wrong(self.request, badge)
            raise forms.ValidationError(_("This is not the password of your badge. Nothing was kept."))
        return password
