"""Without a link a tablet too asks for a vent at nought before a mould is opened, by what was logged on it since."""

import pytest
from playwright.sync_api import Page

from tests import demo
from tests.browser.floor import OUTBOX, enter

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]

# What the tablet asks first of the step that opens, once these steps were logged on it: each with its outcome.
FIRST_ASKED = f"""async ([code, steps]) => {{ {OUTBOX}
    for (const [operation, keeps] of steps) {{
      const readings = [{{ name: 'gauge', value: keeps ? '0.3' : '0', unit: 'bar' }}];
      const payload = {{ unit: code, operation, readings }};
      await box.put([{{ key: crypto.randomUUID(), kind: 'step', payload, done: true, keeps }}]);
    }}
    const {{ rules, routeOf, unitAt }} = await import('/static/floor/rules.js');
    const {{ walk }} = await import('/static/floor/walk.js');
    const known = await rules();
    const unit = unitAt(known, code);
    const step = routeOf(known, unit).find(one => one.operation === 'demould');
    const {{ question }} = walk(known, {{ ...step, on: unit }}, {{}});
    return [question?.asks ?? '', question?.tells ?? ''];
}}"""


def test_a_vent_that_came_out_is_asked_for_before_a_mould_is_opened(page: Page):
    demo.a_shift_begins()
    front = demo.a_mould_to_fill()
    enter(page, "marta", "Press 1")
    page.context.set_offline(True)
    stop = f"Do not open {front} yet"
    assert page.evaluate(FIRST_ASKED, [front, []])[0] == stop
    cured = [["start cure", False], ["end cure", False]]
    missing = f"No vent of {front} is on file. Make it safe before you open it."
    assert page.evaluate(FIRST_ASKED, [front, cured]) == [stop, missing]
    failed = f"The vent of {front} did not come out. Make it safe before you open it."
    assert page.evaluate(FIRST_ASKED, [front, [["vent", True]]]) == [stop, failed]
    assert page.evaluate(FIRST_ASKED, [front, [["vent", False]]])[0] != stop
    assert page.evaluate(FIRST_ASKED, [front, [["mould", False]]])[0] == stop
