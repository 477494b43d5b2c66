"""What a browser says of the Content-Security-Policy."""

import pytest
from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]


def test_a_page_keeps_the_content_policy(page: Page):
    complaints = []
    page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    answer = page.goto("/admin/login/")
    assert answer.status == 200
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert complaints == []


def test_the_browser_refuses_what_the_policy_forbids(page: Page):
    page.goto("/admin/login/")
    page.evaluate("document.body.append(Object.assign(document.createElement('style'), {textContent: 'body {}'}))")
    assert page.evaluate("[...document.styleSheets].filter(sheet => sheet.ownerNode.tagName === 'STYLE').length") == 0
