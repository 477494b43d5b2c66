"""What an act has looked up already: set-up that can't change while the act is open is read once."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

Value = TypeVar("Value")
Memory = dict[Hashable, Any]
_looked_up: ContextVar[Memory | None] = ContextVar("looked_up", default=None)
_kept: ContextVar[Memory | None] = ContextVar("kept", default=None)


@contextmanager
def remembering() -> Iterator[None]:
    """Look-ups inside the block are remembered until its end; longer only for the one writer, and if all went well."""
    kept = _kept.get()
    own = dict(kept or {})
    token = _looked_up.set(own)
    try:
        yield
        if kept is not None:
            kept.clear()
            kept.update(own)
    finally:
        _looked_up.reset(token)


@contextmanager
def only_writer() -> Iterator[None]:
    """Inside the block nobody else writes, so that look-ups are remembered from one act to the next."""
    token = _kept.set({})
    try:
        yield
    finally:
        _kept.reset(token)


def _memory() -> Memory | None:
    """That of the open act, else that of the one writer."""
    own = _looked_up.get()
    return _kept.get() if own is None else own


def remembered(key: Hashable, look_up: Callable[[], Value]) -> Value:
    """The value looked up under a key; found anew outside an act, and as long as nothing was found."""
    memory = _memory()
    if memory is None:
        return look_up()
    if memory.get(key) is None:
        memory[key] = look_up()
    return memory[key]


def forget() -> None:
    """The set-up changes: everything is looked up anew."""
    memory = _memory()
    if memory is not None:
        memory.clear()
