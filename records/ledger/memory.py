"""What an act has looked up already: set-up that can't change while the act is open is read once."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

Value = TypeVar("Value")
_looked_up: ContextVar[dict[Hashable, Any] | None] = ContextVar("looked_up", default=None)


@contextmanager
def remembering() -> Iterator[None]:
    """Look-ups inside the block are remembered until its end."""
    token = _looked_up.set({})
    try:
        yield
    finally:
        _looked_up.reset(token)


def remembered(key: Hashable, look_up: Callable[[], Value]) -> Value:
    """The value looked up under a key; found anew outside an act, and as long as nothing was found."""
    memory = _looked_up.get()
    if memory is None:
        return look_up()
    if memory.get(key) is None:
        memory[key] = look_up()
    return memory[key]
