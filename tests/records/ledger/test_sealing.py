"""Sealing: places in the tree, stored subtrees, signed heads."""

from datetime import UTC, datetime
from uuid import uuid4

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import transaction

from records.ledger import signing
from records.ledger.models import Leaf, Node, TreeHead
from records.ledger.sealing import head_message, leaf_hashes, seal, seal_all, stack_upto
from tests.records.ledger.book import MANY, in_threads, taken
from tests.records.ledger.test_merkle import plain_root


def leaves() -> list[bytes]:
    return list(leaf_hashes(0, Leaf.objects.count()))


@pytest.mark.django_db
@pytest.mark.parametrize("batch", [MANY, 1000, 256, 255, 97])
def test_the_root_is_that_of_the_standard_however_the_entries_are_batched(many_entries, batch):
    while seal(batch):
        pass
    head = TreeHead.objects.order_by("size").last()
    assert (head.size, bytes(head.root)) == (MANY, plain_root(leaves()))
    for earlier in TreeHead.objects.all():
        assert bytes(earlier.root) == plain_root(leaves()[: earlier.size])


@pytest.mark.django_db
@pytest.mark.parametrize("batch", [MANY, 97])
def test_roots_of_whole_subtrees_of_256_are_kept(many_entries, batch):
    while seal(batch):
        pass
    kept = {(node.level, node.index): bytes(node.hash) for node in Node.objects.all()}
    assert kept == {(8, n): plain_root(leaves()[256 * n : 256 * n + 256]) for n in range(2)}


@pytest.mark.django_db
@pytest.mark.parametrize("size", [0, 1, 255, 256, 257, 511, 512, 600])
def test_the_running_root_of_any_size_is_read_from_subtrees_and_leaves(many_entries, size):
    seal_all()
    assert stack_upto(size).root() == plain_root(leaves()[:size])


@pytest.mark.django_db
def test_the_place_of_a_leaf_is_the_order_of_sealing():
    for number in (101, 103):
        taken(number, 0)
    seal_all()
    taken(102, 1)
    seal_all()
    assert list(Leaf.objects.order_by("index").values_list("index", "entry_id")) == [(0, 101), (1, 103), (2, 102)]
    assert TreeHead.objects.get(size=3).upto == 103


@pytest.mark.django_db
def test_sealing_again_with_nothing_waiting_writes_no_head():
    taken(1, 0)
    assert (seal_all(), seal_all()) == (1, 0)
    assert TreeHead.objects.count() == 1


@pytest.mark.django_db
def test_an_entry_without_its_payload_waits():
    entry = taken(1, 0)
    entry.pk, entry.key = 2, uuid4()
    entry.save(force_insert=True)
    assert seal_all() == 1
    assert not Leaf.objects.filter(entry=2).exists()


@pytest.mark.django_db
def test_a_head_is_signed_over_size_root_and_time(clock_at):
    moment = clock_at(datetime(2026, 3, 2, 9, 0, 0, 5, tzinfo=UTC))
    taken(1, 0)
    seal_all()
    head = TreeHead.objects.get()
    key = signing.raw(signing.signing_key().public_key())
    message = (
        b'{"before":0,"root":"%s","signed_at":"2026-03-02T09:00:00.000005Z","size":1,"upto":1}'
        % bytes(head.root).hex().encode()
    )
    assert (head_message(head), head.signed_at) == (message, moment)
    assert signing.is_signed(key, bytes(head.signature), message)
    assert head.key_id == signing.key_id(key)
    assert not signing.is_signed(key, bytes(head.signature), message.replace(b'"size":1', b'"size":2'))


def test_the_signing_key_is_made_once_and_is_for_its_owner_only(settings, tmp_path):
    settings.SIGNING_KEY_FILE = tmp_path / "keys" / "key.pem"
    first, again = signing.signing_key(), signing.signing_key()
    assert isinstance(first, Ed25519PrivateKey)
    assert signing.raw(first.public_key()) == signing.raw(again.public_key())
    assert settings.SIGNING_KEY_FILE.stat().st_mode & 0o777 == 0o600
    assert [path.name for path in settings.SIGNING_KEY_FILE.parent.iterdir()] == ["key.pem"]


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
def test_while_one_sealer_seals_another_seals_nothing():
    taken(1, 0)
    with transaction.atomic():
        assert seal() == 1
        assert in_threads(seal) == [0]
    assert Leaf.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_sealers_at_once_seal_each_entry_once(many_entries):
    sealed = in_threads(*[lambda: sum(seal(50) for _ in range(20))] * 2)
    assert sum(sealed) + seal_all() == MANY
    assert list(Leaf.objects.order_by("index").values_list("index", flat=True)) == list(range(MANY))
    assert bytes(TreeHead.objects.get(size=MANY).root) == plain_root(leaves())
