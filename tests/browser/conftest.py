"""A real browser: Debian's own, found by CHROMIUM or on the path."""

from collections.abc import Iterator

import pytest
from django.core.servers.basehttp import WSGIRequestHandler

from tests.deploy.scripts import installing

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict) -> dict:
    chromium = installing.chromium_path()
    if not chromium:
        pytest.skip("Chromium is not installed on this machine")
    return browser_type_launch_args | {"executable_path": chromium, "args": FLAGS}


@pytest.fixture(scope="session", autouse=True)
def _answers_go_at_once() -> Iterator[None]:
    """The test server writes head and body apart, and the second would wait 40 ms for the receipt of the first."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(WSGIRequestHandler, "disable_nagle_algorithm", True)
        yield


@pytest.fixture(scope="session")
def base_url(live_server) -> str:
    """Pages are opened by their path. In place of the driver's own fixture, which pytest warns about."""
    return live_server.url


@pytest.fixture(scope="session", autouse=True)
def _let_the_browser_keep_its_loop() -> Iterator[None]:
    """The driver keeps an event loop in the main thread, and Django would take every query for one made inside it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        yield
