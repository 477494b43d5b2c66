"""Every table at once, for a store that lives no longer than a story or a test.

A works that lives on comes by its migrations. They draw anew, at each step, every model that hangs on the one they
change, and here all hang on the book: half a minute for a works that holds nothing yet. This way takes a few seconds; a
test holds that both lead to the same tables, rules, triggers and rights.
"""

from django.apps import apps
from django.core.management.sql import emit_post_migrate_signal
from django.db import connections
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder


def make_tables(using: str) -> None:
    """The tables of all rooms as their models stand, in an empty database, with all migrations noted as applied."""
    connection = connections[using]
    with connection.schema_editor() as editor:
        for model in apps.get_models():
            if model._meta.can_migrate(connection):
                editor.create_model(model)
    recorder = MigrationRecorder(connection)
    recorder.ensure_schema()
    for room, name in sorted(MigrationLoader(None, ignore_no_migrations=True).disk_migrations):
        recorder.record_applied(room, name)
    # Triggers, rights and the kinds of content are put in place after a migration: this is one.
    emit_post_migrate_signal(verbosity=0, interactive=False, db=using)
