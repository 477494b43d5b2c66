"""The tablet reads what a scanner types as the server does: one table of cases drives both."""

import pytest
from playwright.sync_api import Page

from tests.plant.test_scans import cases

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]

READ = """async texts => {
  const { NotRead, readScan } = await import('/static/floor/scans.js');
  return texts.map(text => {
    try {
      const { code, form, copy, doubt } = readScan(text);
      const told = { code, form };
      if (copy !== null) told.copy = copy;
      return doubt ? { ...told, doubt: doubt.how, says: doubt.words } : told;
    } catch (failure) {
      if (!(failure instanceof NotRead)) throw failure;
      return { refused: failure.how, says: failure.words };
    }
  });
}"""


def test_the_tablet_reads_each_case_as_the_server_does(page: Page):
    page.goto("/sign/in/")
    read = page.evaluate(READ, [case["text"] for case in cases()])
    due = [{name: value for name, value in case.items() if name not in ("case", "text")} for case in cases()]
    assert {case["case"]: told for case, told in zip(cases(), read, strict=True)} == {
        case["case"]: told for case, told in zip(cases(), due, strict=True)
    }
