"""The name of owners answers nothing but the pages of frames."""

import pytest
from django.test import Client

from tests import builders

pytestmark = pytest.mark.django_db
WORKS, OWNERS = "records.tarnside.example", "id.tarnside.example"


@pytest.fixture
def two_names(settings):
    settings.ALLOWED_HOSTS, settings.OWNER_ADDRESS = [WORKS, OWNERS], f"https://{OWNERS}"
    builders.a_works()


@pytest.mark.parametrize("path", ["/", "/sign/in/", "/admin/login/", "/health/", "/floor/"])
def test_the_works_is_not_reached_by_the_name_of_owners(two_names, path):
    shut = Client().get(path, headers={"host": OWNERS})
    assert (shut.status_code, shut.cookies) == (404, {})
    assert Client().get(path, headers={"host": WORKS}).status_code in (200, 301, 302, 503)


def test_their_pages_answer_to_both_names(two_names):
    for name in (OWNERS, f"{OWNERS}:443", WORKS):
        assert Client().get("/01/09521234544081/21/X1", headers={"host": name}).status_code == 200
        assert b"There is no such page" in Client().get("/f/nobody/", headers={"host": name}).content


def test_a_works_with_one_name_is_reached_by_it(settings):
    settings.ALLOWED_HOSTS, settings.OWNER_ADDRESS = [OWNERS, "127.0.0.1"], f"https://{OWNERS}"
    assert Client().get("/sign/in/", headers={"host": OWNERS}).status_code == 200
