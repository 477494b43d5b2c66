"""The house that every test stands in: its database, its clock, its settings."""

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import datetime
from inspect import signature
from pathlib import Path

import hypothesis
import pytest
from django.conf import settings
from django.core.management.commands.flush import Command as Flush
from django.db import transaction
from django.test import override_settings

from records.ledger.clock import clock
from tests import engines
from tests.sources import BASE

# The same examples each time where a change is judged; fresh ones where it is made.
hypothesis.settings.register_profile("making", deadline=None)
hypothesis.settings.register_profile("judging", deadline=None, derandomize=True, print_blob=True)
# Many times the examples, for a night: HYPOTHESIS_PROFILE=thorough.
hypothesis.settings.register_profile("thorough", deadline=None, max_examples=2000)
USUAL = "judging" if os.environ.get("CI") == "true" else "making"
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", USUAL))


# Who asks for none of these, by its own name or by way of a fixture, can't reach the database at all.
DATABASE = {"db", "transactional_db", "live_server", "straight_week"}
# These find or make their database by themselves, or look at the engine.
BY_THEMSELVES = ("bench", "deploy", "records/ledger", "records/scenario", "test_engines.py")


def is_of_the_other_engine(item: pytest.Item) -> bool:
    """What no engine can change is asked on SQLite alone."""
    if item.get_closest_marker("sqlite" if engines.IS_POSTGRESQL else "postgresql"):
        return True
    asks_database = item.get_closest_marker("django_db") or DATABASE & set(item.fixturenames)
    is_by_itself = any(item.path.is_relative_to(BASE / "tests" / place) for place in BY_THEMSELVES)
    return engines.IS_POSTGRESQL and not (asks_database or is_by_itself or item.get_closest_marker("postgresql"))


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Tests of the other engine are left out, not skipped; the longest begin."""
    left_out = {item for item in items if is_of_the_other_engine(item)}
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]
    # The longest begin first, so that the cores end together; the rest keeps its order.
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


def pytest_report_header() -> str:
    return "engine: " + ("postgresql, as the program's role" if engines.IS_POSTGRESQL else "sqlite")


def pytest_configure(config: pytest.Config) -> None:
    if engines.IS_POSTGRESQL and "owner" not in settings.DATABASES:
        raise pytest.UsageError("DATABASE_URL names a PostgreSQL: OWNER_DATABASE_URL must name it too, as its owner.")


@pytest.fixture(scope="session")
def django_db_setup(
    request: pytest.FixtureRequest,
    django_test_environment: None,
    django_db_blocker: pytest.FixtureDef,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[None]:
    """In place of pytest-django's own: it would make and empty the database with the program's rights."""
    process = getattr(request.config, "workerinput", {}).get("workerid", "main")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Flush, "handle", lambda *_, **__: engines.empty())
        with ExitStack() as stack:
            with django_db_blocker.unblock():
                stack.enter_context(engines.database(tmp_path_factory.mktemp("database"), process))
            yield
            stack.enter_context(django_db_blocker.unblock())


@pytest.fixture(scope="session", autouse=True)
def settings_of_tests(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Cheap passwords; keys, uploads and static files in a folder of this run."""
    folder = tmp_path_factory.mktemp("var")
    (folder / "static").mkdir()
    plain_files = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with override_settings(
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
        SIGNING_KEY_FILE=folder / "signing-key.pem",
        MEDIA_ROOT=folder / "uploads",
        STATIC_ROOT=folder / "static",
        STORAGES=settings.STORAGES | {"staticfiles": plain_files},
    ):
        yield folder


@pytest.fixture(autouse=True)
def what_is_told(request: pytest.FixtureRequest) -> Iterator[None]:
    """Tellings are kept from test to test, but not by one that is not rolled back or that bends the program."""
    from tests import shelf

    marker = request.node.get_closest_marker("django_db")
    is_rolled_back = marker is not None and not marker.kwargs.get("transaction") and not marker.args
    # Every test has a monkeypatch by way of a plugin's fixture: only one that asks for it by name bends anything.
    is_bent = "settings" in request.fixturenames or "monkeypatch" in signature(request.function).parameters
    if is_rolled_back and not is_bent:
        with shelf.followed():
            yield
    else:
        yield


@pytest.fixture
def clock_at() -> Iterator[Callable[[datetime | str], datetime]]:
    """Sets the one clock of all acts, until the test is over: ``clock_at("2026-03-02T08:00:00+01:00")``."""
    with ExitStack() as stack:

        def stand_at(moment: datetime | str) -> datetime:
            moment = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
            stack.enter_context(clock.at(moment))
            return moment

        yield stand_at


@pytest.fixture(scope="module")
def straight_week(django_db_setup, django_db_blocker):
    """One week of the works, told once for all tests of a module; each test's own changes are taken back alone."""
    from tests import worlds

    with django_db_blocker.unblock(), transaction.atomic():
        worlds.a_straight_week()
        yield
        transaction.set_rollback(True)
