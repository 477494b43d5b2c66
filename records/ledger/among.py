"""A filter by very many numbers: ``column__among`` passes them as one array, where ``__in`` makes a parameter of each.

Thousands of parameters cost more to write down and read than the question itself, and drivers take only so many.
"""

from __future__ import annotations

import json
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Field, ForeignObject, Lookup
from django.db.models.sql.compiler import SQLCompiler


@Field.register_lookup
@ForeignObject.register_lookup
class Among(Lookup):
    """The column's whole number is one of those given."""

    lookup_name = "among"
    prepare_rhs = False

    def as_sql(self, compiler: SQLCompiler, connection: BaseDatabaseWrapper) -> tuple[str, list[Any]]:  # type: ignore[override]
        column, values = self.process_lhs(compiler, connection)
        return f"{column} in (select value from json_each(%s))", [*values, json.dumps([*self.rhs])]

    def as_postgresql(self, compiler: SQLCompiler, connection: BaseDatabaseWrapper) -> tuple[str, list[Any]]:
        """One array of the column's own type, whatever the size of the numbers."""
        column, values = self.process_lhs(compiler, connection)
        return f"{column} = any(%s::bigint[])", [*values, [*self.rhs]]
