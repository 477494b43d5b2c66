"""What an act has looked up already: set-up that can't change while the act is open is read once.

A process that serves the plant keeps it from one act to the next. Rows of the set-up are facts, written once, so what
was found stays true until a change is approved; each act reads, with its header, how many approvals stand.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Any, TypeVar

Value = TypeVar("Value")
Memory = dict[Hashable, Any]


@dataclass
class _Open:
    """What an open act has looked up, and under how many approvals; none where it changes the set-up itself."""

    found: Memory = field(default_factory=dict)
    approvals: int | None = None


class Lasting:
    """What the acts of this process have looked up under so many approvals."""

    def __init__(self) -> None:
        self._of: tuple[int, Memory] = (-1, {})
        self.once: Memory = {}

    def under(self, approvals: int) -> Memory:
        """What was found under so many approvals; nothing where one has come since."""
        count, found = self._of
        return found if count == approvals else {}

    def take(self, approvals: int, found: Memory) -> None:
        """Keep what a committed act has found. One that began before the newest approval tells nothing new."""
        count, kept = self._of
        if approvals >= count:
            # Put in place as a whole: other threads read it meanwhile.
            self._of = (approvals, {**kept, **found} if approvals == count else dict(found))


_open: ContextVar[_Open | None] = ContextVar("open", default=None)
_kept: ContextVar[Memory | None] = ContextVar("kept", default=None)
_lasting: Lasting | None = None


def keep_from_act_to_act() -> None:
    """From here on this process remembers the set-up. For a process that has one database as long as it lives."""
    global _lasting
    _lasting = Lasting()


def keep_no_longer() -> None:
    """The set-up is looked up in each act anew, as tests want it whose database comes and goes."""
    global _lasting
    _lasting = None


@contextmanager
def remembering() -> Iterator[None]:
    """Look-ups inside the block are remembered until its end; longer only where they last, and if all went well."""
    kept = _kept.get()
    own = _Open(dict(kept or {}))
    token = _open.set(own)
    try:
        yield
        if kept is not None:
            kept.clear()
            kept.update(own.found)
        if _lasting is not None and own.approvals is not None:
            _lasting.take(own.approvals, own.found)
    finally:
        _open.reset(token)


def stand_on(approvals: int) -> None:
    """The open act stands on so many approvals: what earlier ones found under them need not be looked up."""
    own = _open.get()
    if own is not None and _lasting is not None:
        own.approvals = approvals
        own.found.update(_lasting.under(approvals))


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
    own = _open.get()
    return _kept.get() if own is None else own.found


def remembered(key: Hashable, look_up: Callable[[], Value]) -> Value:
    """The value looked up under a key; found anew outside an act, and as long as nothing was found."""
    memory = _memory()
    if memory is None:
        return look_up()
    if memory.get(key) is None:
        memory[key] = look_up()
    return memory[key]


def remembered_once(key: Hashable, look_up: Callable[[], Value]) -> Value:
    """What is written once in the life of a works and never again: inside an act and outside."""
    if _lasting is None:
        return remembered(key, look_up)
    if _lasting.once.get(key) is None:
        _lasting.once[key] = look_up()
    return _lasting.once[key]


def forget() -> None:
    """The set-up changes: everything is looked up anew, and what this act looks up is told to nobody."""
    own = _open.get()
    if own is not None:
        own.approvals = None
    memory = _memory()
    if memory is not None:
        memory.clear()
