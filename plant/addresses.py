"""Names that people choose, as parts of an address: a slash in one is kept from being taken for the next part."""

from __future__ import annotations

from urllib.parse import unquote

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
