"""Pages of passwords, PINs, languages and closed badges: everybody their own, the manager those of others.

One's own stand in two frames: at a desk here, and on the floor in its frame and language (``records/floor/own.py``).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from plant.speaking import languages, say
from records.ledger.models import Entry
from records.ledger.refusals import Refused

from .acting import ActForm, SigningForm, one_of
from .actions import LONGEST_PIN, SHORTEST_PIN, close_badge, open_badge, set_language, set_password, set_pin
from .door import keep_language
from .middleware import BY_TABLET, DEVICE
from .models import Person
from .rights import Role
from .tablets import person_by_pin, tablet_by_code

TEMPLATE = "staff/person_form.html"
OwnView = Callable[[HttpRequest], HttpResponse]


@dataclass(frozen=True)
class Frame:
    """Where a page about oneself stands: its template, and where it leads once its press has been taken."""

    template: str
    then: str


DESK, LIST = Frame(TEMPLATE, "home"), Frame(TEMPLATE, "staff:person_list")


class SecretForm(SigningForm):
    """A password or PIN, twice, signed by the password in force."""

    new = forms.CharField(widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), strip=False)
    again = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        strip=False,
        label=gettext_lazy("The same once more"),
    )

    def clean_password(self) -> str:
        """Whoever presses twice has another secret in force by then: the second press is answered like the first."""
        return "" if self._is_repeat() else self.in_force()

    def in_force(self) -> str:
        """The secret that signs, checked."""
        return super().clean_password()

    def clean(self) -> None:
        told = self.cleaned_data
        if "new" in told and "again" in told and told["new"] != told["again"]:
            self.add_error("again", _("The two differ. Write both again."))

    def _is_repeat(self) -> bool:
        key, by = self.cleaned_data.get("key"), self.request.user
        return Entry.objects.filter(key=key, kind=self.act, by=by).exists()  # type: ignore[misc]  # a person is in


class PasswordForm(SecretForm):
    """A new password."""

    act = "password set"

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        self.fields["new"].label = _("New password")
        self.fields["new"].help_text = _("Ten signs or more. A few words of your own are easy to keep in mind.")


class PinForm(SecretForm):
    """A new PIN. Whoever came in by the one in force, on a tablet of the works, signs by that: it opens no more."""

    act = "pin set"

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        self.by_pin = bool(request.session.get(BY_TABLET))
        told = say("%(least)s to %(most)s digits.", least=SHORTEST_PIN, most=LONGEST_PIN)
        self.fields["new"].label = _("New PIN")
        self.fields["new"].help_text = f"{told} {_('It counts on tablets of the works only.')}"
        if self.by_pin:
            self.fields["password"].label = _("Your PIN so far")
            self.fields["password"].widget.attrs["autocomplete"] = "off"
        for name in ("new", "again", *(["password"] if self.by_pin else [])):
            self.fields[name].widget.attrs |= {"inputmode": "numeric", "data-digits": LONGEST_PIN}

    def in_force(self) -> str:
        """On a tablet the PIN so far; wrong ones count as those at its door."""
        if not self.by_pin:
            return super().in_force()
        told = str(self.cleaned_data["password"])
        try:
            person_by_pin(tablet_by_code(self.request.session[DEVICE]), self.request.user.get_username(), told)
        except Refused as refused:
            is_wrong = refused.code == "wrong-pin"
            words = _("This is not your PIN so far. Nothing was kept.") if is_wrong else str(refused)
            raise forms.ValidationError(words) from refused
        return told


class LanguageForm(ActForm):
    """The language in which the floor speaks to whoever's badge it is."""

    act = "language set"

    language = one_of(languages(), gettext_lazy("Language"))


class BadgeForm(SigningForm):
    """A badge closed, or opened again."""


def person_here(number: int) -> Person:
    """A person who may sign, or 404."""
    return get_object_or_404(Person.objects.select_related("name_words"), pk=number, login=True)


def set_own_password(request: HttpRequest, frame: Frame) -> HttpResponse:
    """Set one's own password."""
    told = {"finding": _("Your new password"), "done": _("Your new password counts from now on.")}
    return _secret(request, PasswordForm(request), set_password, _oneself(request), frame, told)


def set_own_pin(request: HttpRequest, frame: Frame) -> HttpResponse:
    """Set one's own PIN."""
    done = _("Your new PIN counts from now on. Come in with it once with a link: then it counts without one too.")
    told = {"finding": _("Your new PIN"), "done": done}
    return _secret(request, PinForm(request), set_pin, _oneself(request), frame, told)


def set_own_language(request: HttpRequest, frame: Frame) -> HttpResponse:
    """Set the language in which the floor speaks to oneself."""
    form, person = LanguageForm(request), _oneself(request)
    form.initial["language"] = person.language
    if form.acted(lambda said: set_language(person, form.cleaned_data["language"], said=said)):
        chosen = form.cleaned_data["language"]
        with translation.override(chosen):  # it leads to the floor, which speaks it by then
            messages.success(request, _("The floor speaks this language to you from now on."))
        answer = redirect("floor:station_list" if frame is DESK else frame.then)
        keep_language(answer, chosen)
        return answer
    lead = _("It counts on the pages of the floor, with a link and without one. The desk is in English.")
    return form.page(frame.template, {"finding": "Your language on the floor", "lead": lead, "press": "Speak it"})


def is_on_floor(request: HttpRequest) -> bool:
    """Whether a page about oneself is opened on a tablet of the works, or by somebody who has no desk."""
    return bool(request.session.get(DEVICE)) or _oneself(request).roles == {Role.OPERATOR}


def _at_desk(view: Callable[[HttpRequest, Frame], HttpResponse], floor: str) -> OwnView:
    """A page about oneself in the frame of the desk; on the floor it leads on to the page there."""

    @wraps(view)
    def shown(request: HttpRequest) -> HttpResponse:
        if request.method == "GET" and is_on_floor(request):
            return redirect(floor)
        return view(request, DESK)

    return shown


own_password = _at_desk(set_own_password, "floor:own_password")
own_pin = _at_desk(set_own_pin, "floor:own_pin")
own_language = _at_desk(set_own_language, "floor:own")


def password_of(request: HttpRequest, number: int) -> HttpResponse:
    """Set the password of a person who forgot it."""
    person = _somebody(request, number)
    return _secret(request, PasswordForm(request), set_password, person, LIST, _told_of("password", person))


def pin_of(request: HttpRequest, number: int) -> HttpResponse:
    """Set the PIN of a person who forgot it."""
    person = _somebody(request, number)
    return _secret(request, PinForm(request), set_pin, person, LIST, _told_of("PIN", person))


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


def _told_of(secret: str, person: Person) -> dict[str, str]:
    finding = f"New {secret} of {person.name}"
    return {"finding": finding, "done": f"{finding} counts from now on."}


def _secret(
    request: HttpRequest,
    form: SecretForm,
    action: Callable[..., Any],
    person: Person,
    frame: Frame,
    told: dict[str, str],
) -> HttpResponse:
    if form.acted(lambda said: action(person, form.cleaned_data["new"], said=said)):
        if person == request.user:
            # A new password ends the sessions of the old one, but for this one.
            update_session_auth_hash(request, Person.objects.get(pk=person.pk))
        messages.success(request, told["done"])
        return redirect(frame.then)
    return form.page(frame.template, {"finding": told["finding"], "press": _("Set it")})
