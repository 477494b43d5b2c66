"""State tables held against a rebuild from the records."""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.core.exceptions import ObjectDoesNotExist

from ..patterns import State
from .faults import Fault, shown

# What a sum meets when a row it counts on is not there or holds a value of another kind.
BROKEN_RECORDS = (ArithmeticError, AttributeError, LookupError, ObjectDoesNotExist, TypeError, ValueError)


def state_models() -> list[type[State]]:
    """Every table of states."""
    return [model for model in apps.get_models() if issubclass(model, State)]


def state_faults(*, records_are_good: bool) -> list[Fault]:
    """Where state tables differ from what the records give."""
    return [fault for model in state_models() for fault in _faults_of(model, records_are_good)]


def _faults_of(model: type[State], records_are_good: bool) -> list[Fault]:
    table = model._meta.db_table
    try:
        return _compare(model, {row[model._meta.pk.attname]: row for row in model.from_records()})
    except BROKEN_RECORDS as trouble:
        if records_are_good:
            raise
        words = f"It can't be rebuilt from the records as they are ({type(trouble).__name__}); see the rows above."
        return [Fault("state-differs", table, words)]


def _compare(model: type[State], wanted: dict[Any, dict[str, Any]]) -> list[Fault]:
    table, key = model._meta.db_table, model._meta.pk.attname
    columns = [field.attname for field in model._meta.concrete_fields if field.name != "entry"]
    faults = []
    for row in model._base_manager.order_by("pk").values("entry_id", *columns).iterator(chunk_size=5000):
        pk, entry = row[key], row.pop("entry_id")
        due = wanted.pop(pk, None)
        if due is None:
            faults.append(Fault("state-differs", table, "The records know of no such row.", row=pk, entry=entry))
            continue
        for column in columns:
            if row[column] != due[column]:
                words = f"The row says {shown(row[column])}, the records {shown(due[column])}."
                faults.append(Fault("state-differs", table, words, row=pk, entry=entry, column=column))
    faults.extend(Fault("state-differs", table, "The records ask for this row.", row=pk) for pk in wanted)
    return faults
