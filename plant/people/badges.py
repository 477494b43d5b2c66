"""Pages of passwords, PINs, languages and closed badges: everybody their own, the manager those of others."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from plant.speaking import languages

from .acting import ActForm, SigningForm, one_of
from .actions import LONGEST_PIN, SHORTEST_PIN, close_badge, open_badge, set_language, set_password, set_pin
from .door import keep_language
from .models import Person
from .rights import Role

TEMPLATE = "staff/person_form.html"


class SecretForm(SigningForm):
    """A password or PIN, twice, signed by the password in force."""

    new = forms.CharField(widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), strip=False)
    again = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), strip=False, label="The same once more"
    )

    def clean(self) -> None:
        told = self.cleaned_data
        if "new" in told and "again" in told and told["new"] != told["again"]:
            self.add_error("again", "The two differ. Write both again.")


class PasswordForm(SecretForm):
    """A new password."""

    act = "password set"

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        self.fields["new"].label = "New password"
        self.fields["new"].help_text = "Ten signs or more. A few words of your own are easy to keep in mind."


class PinForm(SecretForm):
    """A new PIN."""

    act = "pin set"

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        self.fields["new"].label = "New PIN"
        self.fields[
            "new"
        ].help_text = f"{SHORTEST_PIN} to {LONGEST_PIN} digits. It counts on the works' own tablets only."
        for name in ("new", "again"):
            self.fields[name].widget.attrs["inputmode"] = "numeric"


class LanguageForm(ActForm):
    """The language in which the floor speaks to whoever's badge it is."""

    act = "language set"

    language = one_of(languages(), "Language")


class BadgeForm(SigningForm):
    """A badge closed, or opened again."""


def person_here(number: int) -> Person:
    """A person who may sign, or 404."""
    return get_object_or_404(Person.objects.select_related("name_words"), pk=number, login=True)


def own_password(request: HttpRequest) -> HttpResponse:
    """Set one's own password."""
    return _secret(request, PasswordForm(request), set_password, _oneself(request), "Your new password", "home")


def own_pin(request: HttpRequest) -> HttpResponse:
    """Set one's own PIN."""
    return _secret(request, PinForm(request), set_pin, _oneself(request), "Your new PIN", "home")


def own_language(request: HttpRequest) -> HttpResponse:
    """Set the language in which the floor speaks to oneself."""
    form, person = LanguageForm(request), _oneself(request)
    form.initial["language"] = person.language
    if form.acted(lambda said: set_language(person, form.cleaned_data["language"], said=said)):
        messages.success(request, "The floor speaks this language to you from now on.")
        answer = redirect("floor:station_list")
        keep_language(answer, form.cleaned_data["language"])
        return answer
    lead = "It counts on the pages of the floor, with a link and without one. The desk is in English."
    return form.page(TEMPLATE, {"finding": "Your language on the floor", "lead": lead, "press": "Speak it"})


def password_of(request: HttpRequest, number: int) -> HttpResponse:
    """Set the password of a person who forgot it."""
    person = _somebody(request, number)
    finding = f"New password of {person.name}"
    return _secret(request, PasswordForm(request), set_password, person, finding, "staff:person_list")


def pin_of(request: HttpRequest, number: int) -> HttpResponse:
    """Set the PIN of a person who forgot it."""
    person = _somebody(request, number)
    return _secret(request, PinForm(request), set_pin, person, f"New PIN of {person.name}", "staff:person_list")


def badge_of(request: HttpRequest, number: int) -> HttpResponse:
    """Close a person's badge, or open it again."""
    person = person_here(number)
    form = BadgeForm(request)
    form.act = "badge closed" if person.is_active else "badge opened"  # type: ignore[misc]  # one page, two acts
    action = close_badge if person.is_active else open_badge
    if form.acted(lambda said: action(person, said=said)):
        messages.success(request, f"The badge of {person.name} is {form.made.get_what_display().lower()}.")
        return redirect("staff:person_list")
    finding = f"Close the badge of {person.name}" if person.is_active else f"Open the badge of {person.name} again"
    effect = (
        "From that moment the badge signs in nowhere and signs nothing. What it signed before stays as it is."
        if person.is_active
        else "The badge signs in again, with the password and the roles that it had."
    )
    press = "Close the badge" if person.is_active else "Open the badge"
    return form.page(TEMPLATE, {"finding": finding, "lead": effect, "press": press, "hold": person.is_active})


def _somebody(request: HttpRequest, number: int) -> Person:
    """A person whose password the manager sets; nobody else is shown the page."""
    if Role.MANAGER not in _oneself(request).roles:
        raise PermissionDenied("The manager sets the password of another person. Your own you find on your first page.")
    return person_here(number)


def _oneself(request: HttpRequest) -> Person:
    assert isinstance(request.user, Person)  # the middleware lets nobody else in
    return request.user


def _secret(
    request: HttpRequest, form: SecretForm, action: Callable[..., Any], person: Person, finding: str, then: str
) -> HttpResponse:
    if form.acted(lambda said: action(person, form.cleaned_data["new"], said=said)):
        if person == request.user:
            # A new password ends the sessions of the old one, but for this one.
            update_session_auth_hash(request, Person.objects.get(pk=person.pk))
        messages.success(request, f"{finding} counts from now on.")
        return redirect(then)
    return form.page(TEMPLATE, {"finding": finding, "press": "Set it"})
