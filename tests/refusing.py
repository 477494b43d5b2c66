"""A refusal as it must be: the code, a whole sentence with the facts in it, and nothing kept."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from records.items.models import Item, ItemState, Link, TankEntry
from records.ledger.acts import flags_of
from records.ledger.models import Entry
from records.ledger.refusals import Refused
from tests.builders import said


def _kept() -> tuple:
    """What an act that was refused must leave as it was."""
    entries = Entry.objects.exclude(kind="entry unplaced").count()
    rows = [model.objects.count() for model in (Item, Link, TankEntry)]
    return entries, rows, list(ItemState.objects.order_by("pk").values())


@contextmanager
def refuses(code: str, words: str = "") -> Iterator[None]:
    """What happens inside is refused with this code, in a sentence that holds these words, and leaves nothing."""
    before = _kept()
    with pytest.raises(Refused) as refused:
        yield
    sentence = str(refused.value)
    assert refused.value.code == code, sentence
    assert words in sentence
    assert "%(" not in sentence
    assert sentence.endswith((".", "?"))
    assert len(sentence.split()) > 3
    assert _kept() == before


@contextmanager
def refuses_or_flags(code: str, words: str = "") -> Iterator:
    """Hands out what to say twice: asked at the gate it is refused, told as done it is taken and flagged."""
    told: list = []

    def both(act) -> None:
        with refuses(code, words):
            act(said(6))
        done = said(6, done=True)
        act(done)
        assert code in flags_of(done.key)
        told.append(done)

    yield both
    assert told
