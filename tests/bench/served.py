"""The site as the plant serves it, with one address more: a bare view that inserts one row behind the same sign-in."""

from plant.wsgi import application  # noqa: F401  # first: it sets Django up, and is what gunicorn serves

# isort: split
from uuid import uuid4

from django.conf import settings
from django.contrib.sessions.models import Session
from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.utils import timezone

from plant.urls import urlpatterns as of_the_site

settings.ROOT_URLCONF = __name__


def bare(request: HttpRequest) -> HttpResponse:
    """Insert what was sent as one row, and ask nothing of it."""
    Session.objects.create(session_key=uuid4().hex, session_data=request.body.decode(), expire_date=timezone.now())
    return HttpResponse()


urlpatterns = [path("bare/", bare), *of_the_site]
