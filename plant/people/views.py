"""Coming in and going out."""

from __future__ import annotations

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import ValidationError

from .areas import beginning_of
from .models import Person


class SignInForm(AuthenticationForm):
    """Badge and password."""

    error_messages = {
        "invalid_login": "Badge and password don't belong together. Look again.",
        "inactive": "This badge is closed. Ask your lead.",
    }

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["username"].label = "Badge"
        self.fields["username"].help_text = "Scan it or type it."
        self.fields["password"].label = "Password"

    def confirm_login_allowed(self, user: Person) -> None:
        super().confirm_login_allowed(user)
        if not user.login:
            raise ValidationError(self.error_messages["inactive"], code="inactive")


class SignIn(LoginView):
    """Who comes in begins where the role's work is."""

    template_name = "people/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def get_default_redirect_url(self) -> str:
        begins = beginning_of(self.request.user) if self.request.user.is_authenticated else ""
        return begins or super().get_default_redirect_url()


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view(next_page="people:sign_in")
