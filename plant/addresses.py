"""Addresses: names that people choose as parts of one, and what no database can be asked for."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import unquote

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.urls import register_converter
from django.urls.converters import StringConverter


class NameConverter(StringConverter):
    """A name with whatever signs; a server undoes one quoting before an address is read, so its slash has two.

    Examples
    --------
    >>> NameConverter().to_url("50 % A/B"), NameConverter().to_python("50 %25 A%2FB")
    ('50 %25 A%2FB', '50 % A/B')
    """

    def to_python(self, value: str) -> str:
        return unquote(value)

    def to_url(self, value: str) -> str:
        return str(value).replace("%", "%25").replace("/", "%2F")


register_converter(NameConverter, "name")


def without_nought(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Answer 400 to an address with the sign of number nought, which some label makers leave behind a code: PostgreSQL
    keeps none in a text, and a look-up with one fails."""

    def asked(request: HttpRequest) -> HttpResponse:
        told = [value for values in request.GET.lists() for value in (values[0], *values[1])]
        if any("\0" in text for text in (request.path_info, *told)):
            raise BadRequest("The address holds a sign of number nought.")
        return get_response(request)

    return asked
