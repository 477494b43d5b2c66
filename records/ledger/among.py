"""A filter by very many numbers: ``column__among`` passes them as one array, where ``__in`` makes a parameter of each.

Thousands of parameters cost more to write down and read than the question itself, and drivers take only so many.
"""

from __future__ import annotations

from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Field, ForeignObject, Lookup
from django.db.models.sql.compiler import SQLCompiler

from .asking import Slot, as_array


@Field.register_lookup
@ForeignObject.register_lookup
class Among(Lookup):
    """The column's whole number is one of those given."""

    lookup_name = "among"
    prepare_rhs = False

    def as_sql(self, compiler: SQLCompiler, connection: BaseDatabaseWrapper) -> tuple[str, list[Any]]:  # type: ignore[override]
        column, values = self.process_lhs(compiler, connection)
        # One array of the column's own type, whatever the size of the numbers.
        array = "= any(%s::bigint[])" if connection.vendor == "postgresql" else "in (select value from json_each(%s))"
        given = self.rhs if isinstance(self.rhs, Slot) else as_array(self.rhs, connection.vendor)
        return f"{column} {array}", [*values, given]
