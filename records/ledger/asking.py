"""A question whose SQL is made once, with slots where the values of each asking go.

To make the SQL of a queryset takes Django half a millisecond, more than most questions take to be answered, and a
trace asks a dozen. The rules stay where they are, in the querysets (``known``, ``standing``): only their text is kept.
A change of state rows that every entry makes is kept in the same way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from typing import TYPE_CHECKING, Any

from django.db import connection
from django.db.models import BigIntegerField, CharField, DateTimeField, Expression, Field, Model, QuerySet
from django.db.models.sql import UpdateQuery

from .statements import as_sent, carried_out

if TYPE_CHECKING:
    from .marks import Mark

Rows = list[tuple[Any, ...]]
Given = int | str | datetime | Iterable[int] | None
# So many numbers PostgreSQL reckons with where it plans for an array that it does not know.
FEW = 10


class Slot(Expression):
    """The place of a value that is given at each asking; ``column__among`` takes one for numbers."""

    def __init__(self, name: str, field: Field | None = None) -> None:
        super().__init__(output_field=field or BigIntegerField())
        self.name = name

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        return "%s", (self,)


def as_array(numbers: Iterable[int], vendor: str) -> str:
    """Whole numbers as the one text that an engine reads as an array; no driver has to look at each.

    Examples
    --------
    >>> as_array([3, 4], "postgresql"), as_array([3, 4], "sqlite")
    ('{3,4}', '[3,4]')
    """
    text = ",".join(map(str, numbers))
    return f"{{{text}}}" if vendor == "postgresql" else f"[{text}]"


@dataclass(frozen=True)
class _Text:
    """SQL with its parameters, slots among them, and what makes the values of columns what Django would make them."""

    sql: str
    parameters: tuple[Any, ...]
    converters: tuple[tuple[int, Callable[[Any], Any]], ...]


class Asking:
    """A question as known at a mark; ``build`` makes its queryset of values from the mark and what else is given.

    What is given is a number, a text, a time, numbers for ``column__among``, or None where that is left out.
    """

    def __init__(self, build: Callable[..., QuerySet]) -> None:
        self._build = build
        self._texts: dict[tuple[object, ...], _Text] = {}

    def rows(self, mark: Mark | None = None, **given: Given) -> Rows:
        """The values asked for, each row a tuple."""
        vendor = connection.vendor
        given = {name: _kept(value) for name, value in given.items()}
        left_out = (name for name, value in given.items() if value is None)
        shape = (vendor, mark is None, bool(mark and mark.late), *left_out)
        text = self._texts.get(shape)
        if text is None:
            text = self._texts[shape] = self._made(mark, given)
        if mark is not None:
            given |= {"upto": mark.upto, "late": mark.late}
        told = {name: _value(value, vendor) for name, value in given.items()}
        values = [told[value.name] if isinstance(value, Slot) else value for value in text.parameters]
        with _asked(text.sql, values, given.values()) as cursor:
            return _converted(cursor.fetchall(), text.converters)

    def _made(self, mark: Mark | None, given: dict[str, Given]) -> _Text:
        slots = {name: None if value is None else Slot(name, _field_of(value)) for name, value in given.items()}
        compiler = self._build(_slots_of(mark), **slots).query.get_compiler(connection=connection)
        sql, parameters = compiler.as_sql()
        columns = compiler.get_converters([column for column, _, _ in compiler.select])
        return _Text(sql, tuple(parameters), tuple((n, _converter(*how)) for n, how in columns.items()))


def _kept(value: Given) -> int | str | datetime | tuple[int, ...] | None:
    """What is given, numbers so that they can be counted."""
    return value if value is None or isinstance(value, int | str | datetime) else tuple(value)


@contextmanager
def _asked(sql: str, values: Sequence[Any], given: Iterable[Any]) -> Iterator[Any]:
    """The cursor after a question. What is the best way to many numbers hangs on them, so it is planned each time."""
    if all(not isinstance(value, tuple) or len(value) <= FEW for value in given):
        with carried_out(sql, values) as cursor:
            yield cursor
    else:
        with connection.cursor() as cursor:
            cursor.execute(sql, values)
            yield cursor


class Changing:
    """A change of state rows; ``build`` gives the rows and their new values from what is given at each change.

    What is given is a number, a text, a time, numbers for ``column__among``, or None where a column is emptied.
    """

    def __init__(self, build: Callable[..., tuple[QuerySet, dict[str, Any]]]) -> None:
        self._build = build
        self._texts: dict[str, tuple[str, tuple[Any, ...]]] = {}

    def change(self, **given: Given) -> int:
        """Change the rows; how many there are."""
        vendor = connection.vendor
        text = self._texts.get(vendor)
        if text is None:
            text = self._texts[vendor] = self._made(given)
        sql, parameters = text
        told = {name: _value(value, vendor) for name, value in given.items()}
        values = [told[value.name] if isinstance(value, Slot) else as_sent(value, vendor) for value in parameters]
        with carried_out(sql, values) as cursor:
            return int(cursor.rowcount)

    def _made(self, given: Mapping[str, Given]) -> tuple[str, tuple[Any, ...]]:
        rows, values = self._build(**{name: Slot(name, _field_of(value)) for name, value in given.items()})
        query: Any = rows.query.chain(UpdateQuery)
        query.add_update_values(values)
        sql, parameters = query.get_compiler(connection=connection).as_sql()
        return sql, tuple(parameters)


def columns(ways: Mapping[str, type[Model]]) -> list[str]:
    """All columns of several models, each by the way to it from the model that is asked."""
    return [f"{way}{field.attname}" for way, model in ways.items() for field in model._meta.concrete_fields]


def instances(row: Sequence[Any], ways: Mapping[str, type[Model]]) -> list[Any]:
    """A row of each model, from the values of ``columns``."""
    values, found = iter(row), []
    for model in ways.values():
        names = [field.attname for field in model._meta.concrete_fields]
        found.append(model.from_db(connection.alias, names, [*islice(values, len(names))]))
    return found


def _field_of(value: Given) -> Field:
    if isinstance(value, datetime):
        return DateTimeField()
    return CharField() if isinstance(value, str) else BigIntegerField()


def _value(given: Given, vendor: str) -> Any:
    """What the driver gets for a value."""
    if isinstance(given, datetime):
        return as_sent(connection.ops.adapt_datetimefield_value(given), vendor)
    return as_sent(given, vendor) if isinstance(given, int | str) or given is None else as_array(given, vendor)


def _slots_of(mark: Mark | None) -> Mark | None:
    """A mark of slots, of the same shape."""
    if mark is None:
        return None
    return type(mark)(Slot("upto"), Slot("late") if mark.late else ())  # type: ignore[arg-type]


def _converter(converters: list[Callable[..., Any]], column: Expression) -> Callable[[Any], Any]:
    if isinstance(column.output_field, DateTimeField) and connection.vendor == "sqlite":
        return _moment

    def convert(value: Any) -> Any:
        for one in converters:
            value = one(value, column, connection)
        return value

    return convert


def _moment(stored: datetime | str | None) -> datetime | None:
    """A time as SQLite keeps it: Django's way through its time zones takes ten times as long."""
    if stored is None:
        return None
    return (datetime.fromisoformat(stored) if isinstance(stored, str) else stored).replace(tzinfo=UTC)


def _converted(rows: Rows, converters: Iterable[tuple[int, Callable[[Any], Any]]]) -> Rows:
    for n, convert in converters:
        rows = [(*row[:n], convert(row[n]), *row[n + 1 :]) for row in rows]
    return rows
