"""The camera of a tablet in place of a hand scanner: one page, which alone may run the decoder's WebAssembly."""

from __future__ import annotations

from csp.decorators import csp_update
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils import translation

from plant.people.areas import in_area


@csp_update({"script-src": ["'wasm-unsafe-eval'"]})
@in_area("Floor")
def camera(_: HttpRequest) -> HttpResponse:
    """Look for a symbol, and go back with what it says to the screen that asked."""
    return HttpResponse(camera_page())


def camera_page() -> str:
    """The same for everybody, as the shell is: the worker keeps it, and a script says it in the language in use."""
    with translation.override(settings.LANGUAGE_CODE):
        return render_to_string("floor/camera.html")
