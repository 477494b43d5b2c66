"""Random changes behind the program's back, by the owner with the triggers dropped; whether verification names them."""

import random
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from uuid import uuid4

from django.apps import apps
from django.db import DatabaseError, connection, connections, models, transaction

from records.ledger import triggers
from records.ledger.models import EntryBody, Leaf, Node, PrivateWords, SigningKey, TreeHead
from records.ledger.patterns import Fact, State
from records.ledger.triggers import record_models
from records.ledger.verifying import Fault, verify
from tests import engines

# Leaves, subtrees, heads and keys speak of each other: which of them is wrong can't always be told.
TREE = {model._meta.db_table for model in (Leaf, Node, TreeHead, SigningKey)}


@dataclass(frozen=True)
class Change:
    """One thing changed in the database, and where verification should point."""

    what: str
    model: type[models.Model]
    row: object
    column: str | None = None

    @property
    def table(self) -> str:
        return self.model._meta.db_table

    def is_named(self, faults: list[Fault]) -> bool:
        """Whether one of the faults points to it."""
        if self.table in TREE:
            return any(fault.table in TREE for fault in faults)
        if self.model is PrivateWords and self.what == "deleted":  # the record that points to them tells it
            return any("points to other words" in fault.words for fault in faults)
        return any(self._is_told_by(fault) for fault in faults)

    def _is_told_by(self, fault: Fault) -> bool:
        # The payload as a whole was hashed, and private words are committed to as one.
        column = None if self.model in (EntryBody, PrivateWords) else self.column
        return (fault.table, fault.row) == (self.table, self.row) and column in (None, fault.column)


@dataclass
class Hand:
    """The owner's hand on tables of records and states; what it does is undone after each look."""

    chance: random.Random
    tables: list[type[models.Model]] = field(default_factory=list)

    def changes(self, count: int) -> Iterator[tuple[Change, list[Fault]]]:
        """So many changes, one at a time, each with all that verification says of it."""
        made = 0
        while made < count:
            with self.one_change(self.chance.choice(self.tables)) as change:
                if change is not None:
                    made += 1
                    yield change, [fault for fault in verify().faults if fault.kind != "trigger-missing"]

    @contextmanager
    def one_change(self, model: type[models.Model], kinds: str = "cccccda") -> Iterator[Change | None]:
        """A cell changed, a row deleted or a row added; nothing where the table's rules forbid it."""
        kind = {"c": self.cell, "d": self.deleted, "a": self.added}[self.chance.choice(kinds)]
        mark = transaction.savepoint()
        try:
            change = kind(model)
        except DatabaseError:
            change = None
            transaction.set_rollback(False)
            transaction.savepoint_rollback(mark)
            mark = transaction.savepoint()
        try:
            yield change
        finally:
            transaction.savepoint_rollback(mark)

    def a_row(self, model: type[models.Model]) -> models.Model:
        return self.chance.choice(list(model._base_manager.order_by("pk")))

    def cell(self, model: type[models.Model]) -> Change | None:
        """Another value in one cell that holds something; the entry of a state only says who touched it last."""
        row = self.a_row(model)
        fields = [f for f in model._meta.concrete_fields if not f.primary_key and getattr(row, f.attname) is not None]
        if issubclass(model, State):
            fields = [f for f in fields if f.name != "entry"]
        if not fields:
            return None
        chosen = self.chance.choice(fields)
        value = other_value(chosen, getattr(row, chosen.attname))
        if value is None:
            return None
        stored = chosen.get_db_prep_save(value, connection)
        table, key = model._meta.db_table, model._meta.pk.column
        run(f'update "{table}" set "{chosen.column}" = %s where "{key}" = %s', stored, row.pk)
        return Change("changed", model, row.pk, chosen.attname)

    def deleted(self, model: type[models.Model]) -> Change:
        """A row taken out."""
        row = self.a_row(model)
        run(f'delete from "{model._meta.db_table}" where "{model._meta.pk.column}" = %s', row.pk)
        return Change("deleted", model, row.pk)

    def added(self, model: type[models.Model]) -> Change | None:
        """A copy of a row under another key, its only values made others."""
        if not issubclass(model, Fact):
            return None
        row = self.a_row(model)
        row.pk = model._base_manager.order_by("-pk").values_list("pk", flat=True)[0] + 1
        for chosen in model._meta.concrete_fields:
            if chosen.unique and not chosen.primary_key and getattr(row, chosen.attname) is not None:
                setattr(row, chosen.attname, other_value(chosen, getattr(row, chosen.attname)))
        row._state.adding = True
        models.Model.save_base(row, force_insert=True, raw=True)
        return Change("added", model, row.pk)


@contextmanager
def hand(chance: random.Random, *, states: bool = True) -> Iterator[Hand]:
    """The owner with every trigger dropped, inside one transaction that never ends well."""
    with _as_owner(), transaction.atomic():
        triggers.remove(connection)
        looked_at = [*record_models(), PrivateWords, *(m for m in apps.get_models() if issubclass(m, State) and states)]
        yield Hand(chance, [model for model in looked_at if model._base_manager.exists()])
        transaction.set_rollback(True)


@contextmanager
def _as_owner() -> Iterator[None]:
    program = connections["default"]
    # Under this name, since a test case bars every other one.
    connections["default"] = connections["owner" if engines.IS_POSTGRESQL else "default"].copy("default")
    try:
        yield
    finally:
        connections["default"].close()
        connections["default"] = program


def run(statement: str, *values: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def other_value(chosen: models.Field, value: object) -> object:
    """Another value that the column could hold; none where there is only one."""
    match chosen:
        case models.ForeignKey():
            others = chosen.related_model._base_manager.exclude(pk=value).order_by("pk")
            return others.values_list("pk", flat=True).first()
        case models.DateTimeField():
            return value + timedelta(microseconds=1)
        case models.DateField():
            return value + timedelta(days=1)
        case models.UUIDField():
            return uuid4()
        case models.BinaryField():
            return bytes(value)[::-1]
        case models.BooleanField():
            return not value
        case models.IntegerField():
            return value + 1
    return value[1:] + "z"
