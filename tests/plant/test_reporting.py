"""The log says what went wrong, and nobody's name."""

import logging

from django.test import RequestFactory

from plant.people.throttling import address_told_by_proxy, nobody_named
from plant.reporting import Nameless

# As PostgreSQL 15 words it.
REFUSED = (
    'duplicate key value violates unique constraint "people_person_badge_key"\nDETAIL:  Key (badge)=(nell) exists.'
)


def test_values_of_a_refused_row_stay_out_of_the_log():
    try:
        raise ValueError(REFUSED)
    except ValueError as failure:
        record = logging.LogRecord("django.request", 40, "", 0, "Failed: %s", ("/a/",), (ValueError, failure, None))
    written = Nameless().format(record)
    assert written.startswith("ERROR django.request: Failed: /a/\n")
    assert "people_person_badge_key" in written
    assert "nell" not in written


def test_a_wrong_password_is_told_without_badge_or_address():
    assert nobody_named("nell", "192.0.2.7", "browser", "/sign/in/", None) == "one badge from one address"


def test_the_proxy_tells_where_a_request_comes_from():
    told = RequestFactory().get("/", headers={"X-Real-IP": "192.0.2.7"})
    assert address_told_by_proxy(told) == "192.0.2.7"
    assert address_told_by_proxy(RequestFactory().get("/")) == "127.0.0.1"
