"""A list that holds nothing yet says why, offers no file that is empty and asks for nothing to narrow it by."""

import pytest
from django.urls import reverse

from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
NOTHING = {
    "items:stock": "Nothing is left on the shelf. A delivery is booked in by Stores",
    "quality:past": "Nothing has been decided yet. What waits stands on the bench",
    "release:going": "None: a frame comes here when the last step of its route is on file.",
    "release:gone": "Nothing has been shipped yet. A released frame is shipped from the page before this one.",
    "trace:find": "Nothing is on file yet. The first delivery is booked in under Stores.",
    "runs:run_list": "Nothing is on file that fits. A run is recorded with the units in it",
}


@pytest.mark.parametrize("name", NOTHING)
def test_an_empty_list_says_why(name):
    builders.a_works()
    answer = tablet().get(reverse(name))
    page = answer.content.decode()
    assert answer.context["list"].total == 0
    assert NOTHING[name] in page
    assert "Narrow the list" not in page
    assert "Export: no row to take along" in page
    assert "CSV file" not in page


@pytest.mark.parametrize("name", NOTHING)
def test_an_empty_list_is_still_taken_along_with_its_heads(name):
    builders.a_works()
    taken = tablet().get(reverse(name), {"form": "csv"})
    assert len(taken.content.decode().splitlines()) == 1
    assert taken.headers["Cache-Control"] == "private, no-store"
