"""The program's own settings and database, for the scripts beside this file that run next to it."""

from __future__ import annotations

import os
import sys
from typing import Any

from installing import BASE, CannotStart


def settings_read() -> Any:
    """Django set up with the program's settings, as ``SETTINGS_FILES`` and the environment give them."""
    sys.path.insert(0, str(BASE))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "plant.settings")
    import django
    from django.conf import settings
    from django.core.exceptions import ImproperlyConfigured

    try:
        django.setup()
    except OSError as failure:
        raise CannotStart(f"The settings can't be read from {failure.filename}: {failure.strerror}.") from failure
    except (ImproperlyConfigured, ValueError) as failure:
        words = f"A setting can't be understood: {failure}. deploy/env.example tells what each must be."
        raise CannotStart(words) from failure
    return settings


def database_trouble() -> str | None:
    """Why the database can't be asked, in one sentence; nothing when it answers."""
    from django.db import DatabaseError, connection

    try:
        connection.ensure_connection()
    except DatabaseError as failure:
        return f"The database does not answer: {' '.join(str(failure).split())} Look at DATABASE_URL."
    return None


def migrations_of_program() -> set[tuple[str, str]]:
    """Room and name of every migration that this program knows."""
    from django.db.migrations.loader import MigrationLoader

    return set(MigrationLoader(None, ignore_no_migrations=True).disk_migrations)


def migrations_of_database() -> set[tuple[str, str]]:
    """Room and name of every migration that the database has taken."""
    from django.db import connection
    from django.db.migrations.recorder import MigrationRecorder

    return set(MigrationRecorder(connection).applied_migrations())
