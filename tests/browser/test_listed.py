"""Without a link a tablet says who is not on the list of an operation, before anything is asked."""

import pytest
from playwright.sync_api import Page, expect

from tests import worlds
from tests.browser.test_tablet import BENCH, a_final_step_to_do, enter, unlink

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]
# The rules as the tablet keeps them, with the final step for people on a list.
FOR_A_LIST = """async () => {
    const box = await import('/static/floor/outbox.js');
    const snapshot = await box.recall('snapshot');
    for (const steps of Object.values(snapshot.routes)) {
        for (const step of steps) if (step.operation === 'final') step.needs_list = true;
    }
    await box.remember('snapshot', snapshot);
}"""


def test_a_step_for_a_list_is_stopped_before_anything_is_asked(page: Page):
    worlds.a_straight_week()
    a_final_step_to_do()
    enter(page, "operator")
    unlink(page.context)
    page.evaluate(FOR_A_LIST)
    page.goto(f"{BENCH}log/step/?unit={worlds.HERE}&operation=final")
    expect(page.get_by_role("heading", name="You are not on the list for final.")).to_be_visible()
    page.get_by_role("button", name="It has been done already").click()
    expect(
        page.get_by_role("button", name="Keep it and mark it").or_(page.get_by_role("button", name="Log final"))
    ).to_be_visible()
