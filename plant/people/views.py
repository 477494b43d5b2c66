"""Coming in and going out."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils import translation
from django.utils.decorators import method_decorator
from django.utils.translation import gettext_lazy as _

from plant.speaking import languages
from records.ledger.canonical import time_text
from records.ledger.clock import clock

from .acting import speak_plainly
from .areas import beginning_of
from .door import chosen_language, door_language, keep_language
from .middleware import KEPT, SAT
from .models import Person

TOO_MANY = 429  # RFC 6585


class SignInForm(AuthenticationForm):
    """Badge and password."""

    error_messages = {
        "invalid_login": _("Badge and password don't belong together. Look again."),
        "inactive": _("This badge is closed. Ask your lead."),
    }

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["username"].label = _("Badge")
        self.fields["username"].help_text = _("Scan it or type it.")
        self.fields["password"].label = _("Password")
        for field in self.fields.values():
            speak_plainly(field)
            field.error_messages["required"] = _("Fill this in.")

    def confirm_login_allowed(self, user: Person) -> None:
        super().confirm_login_allowed(user)
        if not user.login:
            raise ValidationError(self.error_messages["inactive"], code="inactive")


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """Who comes in begins where the role's work is."""

    template_name = "people/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """The door speaks before a badge is known."""
        with translation.override(door_language(request)):
            answer = super().dispatch(request, *args, **kwargs)
            if isinstance(answer, TemplateResponse):
                answer.render()
        if chosen := chosen_language(request):
            keep_language(answer, chosen)
        return answer

    def get_context_data(self, **more: Any) -> dict[str, Any]:
        return super().get_context_data(**more) | {"language_choices": languages()}

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """A sitting at a tablet begins with the password, and the door speaks this person's language from then on."""
        answer = super().form_valid(form)
        self.request.session[SAT] = time_text(clock.now())
        keep_language(answer, form.get_user().language)
        return answer

    def get_success_url(self) -> str:
        """On to the page asked for; where a form was sent to it after the session ended, to what was typed."""
        address = super().get_success_url()
        kept = self.request.session.get(KEPT)
        return reverse("people:typed") if kept and kept["address"] == address else address

    def get_default_redirect_url(self) -> str:
        begins = beginning_of(self.request.user) if self.request.user.is_authenticated else ""
        return begins or super().get_default_redirect_url()


def locked_out(request: HttpRequest, *_: object, **__: object) -> HttpResponse:
    """What is said after too many wrong passwords."""
    with translation.override(door_language(request)):
        return render(request, "people/locked_out.html", status=TOO_MANY)


def typed(request: HttpRequest) -> HttpResponse:
    """What was typed before the session ended, to be sent under the name of whoever is signed in now."""
    kept = request.session.get(KEPT)
    if not kept:
        return redirect("home")
    shown = [(name, value) for name, value in kept["told"] if value and name not in ("key", "drawn_at")]
    return render(request, "people/typed.html", {"kept": kept, "shown": shown})


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view(next_page="people:sign_in")
