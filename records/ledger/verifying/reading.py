"""Reads for a verification: one moment of the database, and tables in pages that follow their key."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection, transaction
from django.db.models import QuerySet

PAGE = 5000


@contextmanager
def one_moment() -> Iterator[None]:
    """All reads inside see the database as it was at the first, whatever is written meanwhile. Nobody is locked out."""
    if connection.in_atomic_block:  # the caller's transaction decides
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("set transaction isolation level repeatable read, read only")
            # A long comparison is no stuck act.
            cursor.execute("set local statement_timeout = 0")
            cursor.execute("set local idle_in_transaction_session_timeout = 0")
            yield
    else:
        # atomic() would begin IMMEDIATE and keep every writer out.
        with connection.cursor() as cursor:
            cursor.execute("begin deferred")
            try:
                yield
            finally:
                cursor.execute("rollback")


def pages(rows: QuerySet, key: str, *columns: str, after: int | None = None) -> Iterator[list[tuple[Any, ...]]]:
    """Rows in pages by rising key, which is the first value of each; from the key after ``after`` on."""
    ordered = rows.order_by(key).values_list(key, *columns)
    while True:
        page = list((ordered if after is None else ordered.filter(**{f"{key}__gt": after}))[:PAGE])
        if not page:
            return
        yield page
        after = page[-1][0]
