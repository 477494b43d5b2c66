"""``verify``: keys, exit codes, and one sentence when it can't answer."""

import json

import pytest
from django.core.management import CommandError, call_command

from records.ledger import merkle, triggers
from records.ledger.models import TreeHead
from records.ledger.sealing import seal_all
from tests import engines
from tests.records.ledger.book import change, note_shelf, said, shelves

pytestmark = pytest.mark.django_db(transaction=True)
ENGINE = "postgresql" if engines.IS_POSTGRESQL else "sqlite"


def run(capsys, *options: str) -> tuple[str, int]:
    try:
        call_command("verify", *options)
        code = 0
    except SystemExit as end:
        code = end.code
    return capsys.readouterr().out, code


@pytest.fixture
def book() -> list:
    rows = shelves(3)
    seal_all()
    return rows


def test_a_clean_book_ends_with_nought_and_says_what_was_looked_at(book, capsys):
    text, code = run(capsys, "--json")
    found = json.loads(text)
    assert code == 0
    tree = found.pop("tree")
    due = found.pop("triggers")
    assert found == {
        "command": "verify",
        "clean": True,
        "engine": ENGINE,
        "entries": 3,
        "unsealed": 0,
        "rows": 3,
        "since": None,
        "faults": [],
    }
    assert (tree["size"], tree["good"], len(tree["root"])) == (3, True, 64)
    assert tree["signed_at"].endswith("Z")
    assert set(tree) == {"size", "root", "signed_at", "key", "good"}
    assert due["missing"] == []
    assert due["due"] == len(triggers.record_models()) * (3 if engines.IS_POSTGRESQL else 2)


def test_a_changed_row_ends_with_one_and_is_named_in_both_forms(book, capsys):
    change("items_place", "update items_place set code = 'SHELF-9' where id = %s", book[1].pk)
    text, code = run(capsys, "--json")
    assert code == 1
    assert json.loads(text)["faults"] == [
        {
            "kind": "row-changed",
            "table": "items_place",
            "row": book[1].pk,
            "entry": book[1].entry_id,
            "column": "code",
            "words": "The row says SHELF-9, the ledger SHELF-1.",
        }
    ]
    text, code = run(capsys)
    assert code == 1
    for words in ("NOT CLEAN, faults: 1", "row-changed", "items_place", "The row says SHELF-9"):
        assert words in text


def test_the_ledger_alone_compares_no_rows(book, capsys):
    change("items_place", "update items_place set code = 'SHELF-9' where id = %s", book[1].pk)
    text, code = run(capsys, "--ledger", "--json")
    assert (code, json.loads(text)["rows"]) == (0, None)


def test_from_an_entry_on(book, capsys):
    text, code = run(capsys, "--from", str(book[1].entry_id), "--json")
    assert (code, json.loads(text)["entries"], json.loads(text)["rows"]) == (0, 2, 2)


def test_the_engine_that_is_set_may_be_named(book, capsys):
    assert run(capsys, "--engine", ENGINE, "--json")[1] == 0


@pytest.mark.sqlite
def test_an_engine_that_is_not_set_has_no_answer(capsys):
    with pytest.raises(CommandError, match="No postgresql database is set") as refused:
        call_command("verify", "--engine", "postgresql")
    assert refused.value.returncode == 2
    assert capsys.readouterr().out == ""


def test_a_head_that_was_noted_is_proven_against_todays_book(book, capsys):
    noted = next(line.split()[1] for line in run(capsys)[0].splitlines() if line.startswith("Head"))
    note_shelf("LATER", said=said())
    seal_all()
    text, code = run(capsys, "--since", noted, "--json")
    since = json.loads(text)["since"]
    assert (code, f"{since['size']}:{since['root']}", since["good"]) == (0, noted, True)
    head = TreeHead.objects.get(size=4)
    path, old = [bytes.fromhex(node) for node in since["path"]], bytes.fromhex(since["root"])
    assert merkle.is_consistent(3, 4, path, old, bytes(head.root))
    assert "3 leaves, still the same" in run(capsys, "--since", noted)[0]


@pytest.mark.parametrize(("size", "kind"), [(2, "tree-broken"), (3, "tree-broken"), (9, "leaf-missing")])
def test_a_head_of_another_book_or_of_a_longer_one_ends_with_one(book, capsys, size, kind):
    text, code = run(capsys, "--since", f"{size}:{'0f' * 32}", "--json")
    found = json.loads(text)
    assert (code, found["since"]) == (1, {"size": size, "root": "0f" * 32, "good": False, "path": None})
    assert [(fault["kind"], fault["row"]) for fault in found["faults"]] == [(kind, size)]


def test_from_an_entry_that_is_not_there_is_no_answer(book, capsys):
    for number in (str(book[-1].entry_id + 1), "9" * 40):
        with pytest.raises(CommandError, match=f"There is no entry {number}; the last one is") as refused:
            call_command("verify", "--from", number)
        assert refused.value.returncode == 2
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize(
    "option",
    [
        ["--from", "0"],
        ["--from", "-3"],
        ["--from", "x"],
        ["--engine", "other"],
        ["--since", "3"],
        ["--since", "0:" + "0f" * 32],
        ["--since", "3:0f"],
    ],
)
def test_a_wrong_option_is_no_answer(option):
    with pytest.raises(CommandError):
        call_command("verify", *option)
