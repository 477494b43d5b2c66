"""A closed mould is opened at zero: the floor asks before the step that opens it, not once it is open.

That pressure is let off before a mould is opened is common practice, no source; local rules come first.
"""

import pytest

from records.items.actions import place_hold
from records.ledger.models import Flag
from records.steps.actions import Work
from records.steps.recording import Read
from tests import builders
from tests.records.floor.test_views import asked, log, screen, text
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
OPEN = {"unit": "F1", "operation": "demould"}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_mould_to_fill("F1")
    builders.a_leak_test(hours=0.3)
    clock_at(builders.moment(2.5))


def vent(value: str, hours: float = 2):
    builders.a_step("F1", "vent", hours=hours, work=Work(readings=[Read("gauge", value, "bar")]))


def test_a_mould_that_was_not_vented_is_asked_about_first_and_leads_to_the_vent():
    page = screen(tablet(), "MOULD-1", "step", **OPEN)
    assert asked(page) == "Do not open F1 yet"
    assert "No vent of F1 is on file. Make it safe before you open it." in text(page)
    again = screen(tablet(), "MOULD-1", "step", **OPEN, **{"safe-stop": "again"})
    assert "operation=vent" in again.url


def test_a_gauge_that_did_not_read_nought_is_told_and_the_held_screen_leads_to_another_vent():
    vent("0.3")
    page = screen(tablet(), "MOULD-1", "step", **OPEN)
    assert "The vent of F1 did not come out. Make it safe before you open it." in text(page)
    place_hold("F1", reason="leak", said=builders.said(2.1))
    held = tablet().get("/floor/at/MOULD-1/unit/F1/")
    assert [step.name for step in held.context["here"].safe] == ["vent", "demould"]


def test_at_nought_nothing_is_asked():
    vent("0")
    assert "Is this right?" in text(screen(tablet(), "MOULD-1", "step", **OPEN))


def test_one_that_is_open_already_is_kept_and_marked():
    log(tablet(), "MOULD-1", "step", **OPEN, **{"safe-stop": "done"})
    assert "not-vented" in set(Flag.objects.values_list("code", flat=True))


def test_a_tablet_takes_along_what_did_not_make_it_safe():
    vent("0.3")
    snapshot = tablet().get("/floor/snapshot/?device=TB-1").json()
    (unit,) = [unit for unit in snapshot["units"] if unit["code"] == "F1"]
    assert "vent" in unit["unsafe"]
    vent("0", hours=2.2)
    snapshot = tablet().get("/floor/snapshot/?device=TB-1").json()
    (unit,) = [unit for unit in snapshot["units"] if unit["code"] == "F1"]
    assert "vent" not in unit["unsafe"]
