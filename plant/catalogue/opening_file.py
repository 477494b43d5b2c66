"""What an empty works is opened with, read from JSON: the fields of the specs, each told by its place when wrong."""

from __future__ import annotations

import types
from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields, is_dataclass
from datetime import date
from typing import Any, Union, get_args, get_origin, get_type_hints

from records.ledger.refusals import Refused

from . import specs

MALFORMED = "malformed"


def opening_of(told: object) -> specs.Opening:
    """The opening that a file states. Refuses ``malformed`` with the place."""
    opening = _built(specs.Opening, told, "")
    assert isinstance(opening, specs.Opening)
    if not any("manager" in person.roles for person in opening.people):
        raise Refused(MALFORMED, "Name at least one person with the role manager, who can add the others.")
    return opening


def _built(spec: Any, told: object, where: str) -> Any:
    """One spec from its fields."""
    if not isinstance(told, Mapping):
        raise _wrong(where, "must hold named fields")
    hints = get_type_hints(spec)
    known = {field.name: field for field in fields(spec)}
    for name in told:
        if name not in known:
            raise _wrong(_at(where, str(name)), f"is no field; one of: {', '.join(known)}")
    for name, field in known.items():
        if name not in told and field.default is MISSING and field.default_factory is MISSING:
            raise _wrong(_at(where, name), "is missing")
    return spec(**{name: _read(hints[name], value, _at(where, name)) for name, value in told.items()})


def _read(hint: Any, value: object, where: str) -> Any:
    """A value of the kind that a field asks for."""
    kinds = get_args(hint) if get_origin(hint) in (Union, types.UnionType) else (hint,)
    if value is None and type(None) in kinds:
        return None
    kind = next(one for one in kinds if one is not type(None))
    if is_dataclass(kind):
        return _built(kind, value, where)
    if get_origin(kind) is Sequence:
        return _sequence(get_args(kind)[0], value, where)
    if get_origin(kind) is Mapping:
        return _mapping(get_args(kind)[1], value, where)
    if kind is date:
        return _day(value, where)
    if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
        raise _wrong(where, {str: "must be text", int: "must be a whole number", bool: "must be true or false"}[kind])
    return value


def _sequence(kind: Any, value: object, where: str) -> list[Any]:
    if not isinstance(value, list):
        raise _wrong(where, "must be a list")
    return [_read(kind, one, f"{where}[{n}]") for n, one in enumerate(value, start=1)]


def _mapping(kind: Any, value: object, where: str) -> dict[str, Any]:
    if not isinstance(value, Mapping):
        raise _wrong(where, "must hold named values")
    return {str(name): _read(kind, one, _at(where, str(name))) for name, one in value.items()}


def _day(value: object, where: str) -> date:
    try:
        return date.fromisoformat(value if isinstance(value, str) else "")
    except ValueError as wrong:
        raise _wrong(where, "must be a day, such as 2026-12-31") from wrong


def _at(where: str, name: str) -> str:
    return f"{where}.{name}" if where else name


def _wrong(where: str, how: str) -> Refused:
    return Refused(MALFORMED, "%(where)s %(how)s.", where=where or "The file", how=how)
