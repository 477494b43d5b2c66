"""Signing keys: replaced, vouched for by each other; what a verification says of a key that is not the works'."""

import os
from dataclasses import replace
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.core.management import call_command

from records.ledger import keys, signing
from records.ledger.keys import replace_key, waiting_file
from records.ledger.models import SigningKey, TreeHead
from records.ledger.refusals import Refused
from records.ledger.sealing import head_message, seal_all
from tests.records.ledger.book import change, faults, in_threads, note_shelf, said

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def key_file(settings, tmp_path) -> Path:
    """A key of this test's own."""
    settings.SIGNING_KEY_FILE = tmp_path / "key.pem"
    return settings.SIGNING_KEY_FILE


def sealed(code: str) -> int:
    note_shelf(code, said=said())
    return seal_all()


def told() -> list[tuple]:
    return [(f.kind, f.table, f.row, f.column) for f in faults(ledger_only=True)]


def ids() -> list[str]:
    return [signing.key_id(bytes(key)) for key in SigningKey.objects.order_by("number").values_list("key", flat=True)]


def test_the_first_key_is_named_with_the_first_head_and_only_once():
    sealed("S-1"), sealed("S-2")
    row = SigningKey.objects.get()
    assert (row.number, row.size, row.signature_before) == (1, 0, None)
    assert bytes(row.key) == signing.raw(signing.signing_key().public_key())
    assert faults() == []


def test_after_a_key_was_replaced_the_heads_of_the_old_one_are_still_good(key_file):
    sealed("S-1")
    old = key_file.read_bytes()
    row = replace_key()
    sealed("S-2")
    replace_key()
    sealed("S-3")
    assert (row.number, row.size) == (2, 1)
    assert list(TreeHead.objects.order_by("size").values_list("key_id", flat=True)) == ids()
    assert len(set(ids())) == 3
    assert faults() == []
    assert old != key_file.read_bytes()
    assert [path.name for path in key_file.parent.iterdir()] == ["key.pem"]
    assert key_file.stat().st_mode & 0o777 == 0o600


def test_whoever_trusts_the_old_key_can_follow_to_the_new_one():
    sealed("S-1")
    first = SigningKey.objects.get()
    second = replace_key()
    message = keys.key_message(second, bytes(first.key), both=True)
    assert signing.is_signed(bytes(first.key), bytes(second.signature_before), message)
    assert signing.is_signed(bytes(second.key), bytes(second.signature), message)


def test_a_lost_key_is_replaced_when_it_is_said_to_be_lost(key_file):
    sealed("S-1")
    key_file.unlink()
    note_shelf("S-2", said=said())
    for attempt in (seal_all, replace_key):
        with pytest.raises(Refused) as refused:
            attempt()
        assert refused.value.code == "no-signing-key"
    assert not key_file.exists()
    assert replace_key(lost=True).signature_before is None
    assert seal_all() == 1
    assert faults() == []


def test_a_key_that_is_here_is_not_lost_and_without_a_seal_there_is_none_to_replace():
    with pytest.raises(Refused) as refused:
        replace_key()
    assert refused.value.code == "nothing-sealed"
    sealed("S-1")
    with pytest.raises(Refused) as refused:
        replace_key(lost=True)
    assert refused.value.code == "not-lost"
    assert SigningKey.objects.count() == 1


def test_a_replacement_cut_off_before_its_file_was_in_place_is_finished_by_the_sealer(monkeypatch, key_file):
    sealed("S-1")
    put_in_place = os.replace

    def cut_off(source, target):
        if Path(source).exists():
            raise KeyboardInterrupt
        put_in_place(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", cut_off)
        with pytest.raises(KeyboardInterrupt):
            replace_key()
    assert waiting_file(ids()[1]).exists()
    assert faults() == []
    sealed("S-2")
    assert TreeHead.objects.get(size=2).key_id == ids()[1]
    assert not waiting_file(ids()[1]).exists()
    assert faults() == []


def test_two_replacements_at_once_come_one_after_the_other():
    sealed("S-1")
    rows = in_threads(replace_key, replace_key)
    assert sorted(row.number for row in rows) == [2, 3]
    sealed("S-2")
    assert faults() == []


@pytest.mark.parametrize(
    ("column", "value", "due"),
    [
        ("key", bytes(32), {(2, "key"), (2, "signature"), (2, "signature_before")}),
        ("size", 0, {(2, "signature"), (2, "signature_before")}),
        ("signature", bytes(64), {(2, "signature")}),
        ("signature_before", bytes(64), {(2, "signature_before")}),
        ("signature_before", None, {(2, "signature")}),
        ("taken_at", "2026-01-01 00:00:00+00:00", {(2, "signature"), (2, "signature_before")}),
    ],
)
def test_a_changed_key_is_named(column, value, due):
    sealed("S-1")
    replace_key()
    change("ledger_signingkey", f"update ledger_signingkey set {column} = %s where number = 2", value)
    named = {(row, name) for kind, table, row, name in told() if table == "ledger_signingkey"}
    assert named == due


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_key_taken_out_is_named(number):
    sealed("S-1")
    replace_key(), replace_key()
    change("ledger_signingkey", "delete from ledger_signingkey where number = %s", number)
    assert {row[:2] for row in told()} >= {("signature-bad", "ledger_signingkey")}


def test_heads_without_any_key_are_told_once():
    sealed("S-1"), sealed("S-2")
    change("ledger_signingkey", "delete from ledger_signingkey")
    assert told() == [("signature-bad", "ledger_signingkey", None, None)]


def test_a_head_signed_by_a_key_that_was_out_of_use_is_named(key_file):
    sealed("S-1")
    old = signing.signing_key()
    replace_key()
    sealed("S-2")
    head = TreeHead.objects.get(size=2)
    forged = old.sign(head_message(head))
    statement = "update ledger_treehead set key_id = %s, signature = %s where size = 2"
    change("ledger_treehead", statement, ids()[0], forged)
    assert told() == [("signature-bad", "ledger_treehead", 2, "key_id")]


@pytest.mark.parametrize("content", [None, b"no key", "another"])
def test_a_key_file_that_is_missing_unreadable_or_of_another_works_is_told_once(key_file, content):
    sealed("S-1"), sealed("S-2")
    key_file.unlink()
    if content == "another":
        signing.keep_key(Ed25519PrivateKey.generate(), key_file)
    elif content:
        key_file.write_bytes(content)
    found = [replace(fault, words="") for fault in faults()]
    assert [(f.kind, f.table, f.row) for f in found] == [("signature-bad", "ledger_signingkey", 1)]
    assert str(key_file) in faults()[0].words
    assert key_file.exists() == bool(content)


def test_the_worker_says_that_the_key_is_missing_and_goes_on(key_file, capsys):
    sealed("S-1")
    key_file.unlink()
    note_shelf("S-2", said=said())
    call_command("worker", once=True)
    assert "Nothing is sealed" in capsys.readouterr().err
    assert not key_file.exists()


def test_the_command_tells_the_new_key(capsys):
    sealed("S-1")
    call_command("newkey")
    shown = capsys.readouterr().out
    assert f"Key 2, {ids()[1]}, signs from leaf 1 on; signed by the old one." in shown
    assert bytes(SigningKey.objects.get(number=2).key).hex() in shown
