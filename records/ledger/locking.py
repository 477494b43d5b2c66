"""The sealer's lock: one at a time gives places in the tree and signs. On SQLite a transaction is the only writer."""

from __future__ import annotations

from django.db import connection

# Any fixed number: it names the advisory lock on PostgreSQL.
SEALER_LOCK = 0x5EA1


def try_to_lock_sealing() -> bool:
    """Take the lock until the transaction ends, or say that another has it."""
    if connection.vendor != "postgresql":
        return True
    with connection.cursor() as cursor:
        cursor.execute("select pg_try_advisory_xact_lock(%s)", [SEALER_LOCK])
        return bool(cursor.fetchone()[0])


def lock_sealing() -> None:
    """Wait for the lock and hold it until the transaction ends."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("select pg_advisory_xact_lock(%s)", [SEALER_LOCK])
