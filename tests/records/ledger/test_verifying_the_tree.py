"""Verification names what is wrong with leaves, subtrees, heads, signatures and triggers."""

import pytest

from records.ledger import merkle, sealing
from records.ledger.models import EntryBody, Leaf, Node, TreeHead
from records.ledger.sealing import seal, seal_all
from records.ledger.verifying import verify
from tests.records.ledger.book import change, faults, note_shelf, said, shelves, taken

pytestmark = pytest.mark.django_db(transaction=True)


def told() -> list[tuple]:
    return [(f.kind, f.table, f.row, f.column) for f in faults(ledger_only=True)]


@pytest.fixture
def sealed(many_entries):
    """613 entries sealed in batches that end across subtrees."""
    while seal(200):
        pass


def test_a_sealed_book_is_good_and_names_its_newest_head(sealed):
    found = verify(ledger_only=True)
    head = TreeHead.objects.get(size=613)
    assert (found.clean, found.entries, found.unsealed) == (True, 613, 0)
    assert (found.tree.size, found.tree.root, found.tree.key) == (613, bytes(head.root).hex(), head.key_id)


@pytest.fixture
def eight():
    """Eight entries under two heads."""
    shelves(5)
    seal_all()
    shelves_more = [note_shelf(f"MORE-{n}", said=said()) for n in range(3)]
    seal_all()
    return shelves_more


def test_what_is_not_sealed_yet_is_counted_and_is_no_fault(eight):
    note_shelf("LATE", said=said())
    found = verify()
    assert (found.clean, found.unsealed, found.entries) == (True, 1, 9)
    assert found.tree.good


def test_an_empty_book_is_clean():
    found = verify()
    assert (found.clean, found.entries, found.tree.size, found.tree.signed_at) == (True, 0, 0, None)
    assert found.tree.root == merkle.EMPTY_ROOT.hex()


def test_a_missing_leaf_is_named(eight):
    change("ledger_leaf", 'delete from ledger_leaf where "index" = 3')
    assert told() == [("leaf-missing", "ledger_leaf", 3, None)]


@pytest.mark.parametrize("column", ["back_from", "back_to"])
def test_a_head_that_says_otherwise_which_times_were_lived_through_twice_is_named(column):
    for number, minutes in [(1, 60), (2, 0)]:
        taken(number, 60 * minutes)
    seal_all()
    assert told() == []
    change("ledger_treehead", f"update ledger_treehead set {column} = null")
    assert told() == [("signature-bad", "ledger_treehead", 2, "signature")]


def test_missing_last_leaves_are_named_by_the_head_over_them(eight):
    change("ledger_leaf", 'delete from ledger_leaf where "index" > 5')
    assert told() == [("leaf-missing", "ledger_leaf", 6, None)]
    assert faults(ledger_only=True)[0].words == "Leaves 6 to 7 are not there."


def test_two_leaves_that_changed_places_break_the_tree(eight):
    one, other = Leaf.objects.get(index=1).entry_id, Leaf.objects.get(index=2).entry_id
    spare = note_shelf("SPARE", said=said()).entry_id
    for index, entry in [(1, spare), (2, one), (1, other)]:
        change("ledger_leaf", 'update ledger_leaf set entry_id = %s where "index" = %s', entry, index)
    assert told() == [("tree-broken", "ledger_treehead", 5, "root")]


def test_an_earlier_head_taken_out_is_named_by_the_next(eight):
    change("ledger_treehead", "delete from ledger_treehead where size = 5")
    assert told() == [("tree-broken", "ledger_treehead", 8, "before")]
    assert [f.column for f in faults(ledger_only=True, start=eight[-1].entry_id)] == ["before"]


def test_leaves_under_no_head_are_named(eight):
    change("ledger_treehead", "delete from ledger_treehead where size = 8")
    assert told() == [("tree-broken", "ledger_treehead", 5, None)]


def test_a_body_rewritten_with_its_hash_breaks_the_tree(eight):
    """Somebody who changes payload, hash and row alike is betrayed by the signed root."""
    entry = EntryBody.objects.order_by("pk").first()
    forged = entry.payload.replace("SHELF-0", "SHELF-X")
    leaf = merkle.leaf_hash(forged.encode())
    statement = "update ledger_entrybody set payload = %s, leaf_hash = %s where entry_id = %s"
    change("ledger_entrybody", statement, forged, leaf, entry.pk)
    change("items_place", "update items_place set code = 'SHELF-X' where code = 'SHELF-0'")
    assert [(f.kind, f.row, f.column) for f in faults()] == [("tree-broken", 5, "root")]


@pytest.mark.parametrize(
    "forged", ["not JSON", "[]", '{"rows":1}', '{"rows":[5]}', '{"rows":[{}]}', '{"rows":[{"t":[]}]}']
)
def test_a_forged_body_that_is_no_payload_is_named_and_does_not_stop_the_rest(eight, forged):
    entry = eight[0].entry_id
    statement = "update ledger_entrybody set payload = %s, leaf_hash = %s where entry_id = %s"
    change("ledger_entrybody", statement, forged, merkle.leaf_hash(forged.encode()), entry)
    assert {(f.kind, f.row) for f in faults()} == {("body-changed", entry), ("tree-broken", 8)}


@pytest.mark.parametrize("forged", ["17", "null", '"now"', '{"a":1}'])
def test_a_forged_value_of_another_kind_is_named_by_its_column(eight, forged):
    body = EntryBody.objects.get(pk=eight[0].entry_id)
    text = body.payload.replace('"made_at":"2026-03-02T07:00:00.000000Z"', f'"made_at":{forged}')
    statement = "update ledger_entrybody set payload = %s, leaf_hash = %s where entry_id = %s"
    change("ledger_entrybody", statement, text, merkle.leaf_hash(text.encode()), body.pk)
    assert ("row-changed", "ledger_entry", body.pk, "made_at") in [(f.kind, f.table, f.row, f.column) for f in faults()]


def test_a_changed_leaf_hash_is_named_and_breaks_the_tree(eight):
    entry = eight[0].entry_id
    change("ledger_entrybody", "update ledger_entrybody set leaf_hash = %s where entry_id = %s", bytes(32), entry)
    assert told() == [
        ("body-changed", "ledger_entrybody", entry, None),
        ("tree-broken", "ledger_treehead", 8, "root"),
    ]


@pytest.mark.parametrize(
    ("column", "value", "due"),
    [
        ("signature", bytes(64), [("signature-bad", "ledger_treehead", 5, "signature")]),
        ("key_id", "another", [("signature-bad", "ledger_treehead", 5, "key_id")]),
        ("signed_at", "2026-01-01 00:00:00+00:00", [("signature-bad", "ledger_treehead", 5, "signature")]),
        (
            "upto",
            1,
            [("signature-bad", "ledger_treehead", 5, "signature"), ("tree-broken", "ledger_treehead", 5, "upto")],
        ),
        (
            "before",
            1,
            [("signature-bad", "ledger_treehead", 5, "signature"), ("tree-broken", "ledger_treehead", 5, "before")],
        ),
        (
            "root",
            bytes(32),
            [("signature-bad", "ledger_treehead", 5, "signature"), ("tree-broken", "ledger_treehead", 5, "root")],
        ),
    ],
)
def test_a_changed_head_is_named(eight, column, value, due):
    change("ledger_treehead", f"update ledger_treehead set {column} = %s where size = 5", value)
    assert told() == due
    assert not verify(ledger_only=True).tree.good


@pytest.mark.parametrize(
    ("statement", "column"),
    [
        ("update ledger_node set hash = %s where id = %s", "hash"),
        ("delete from ledger_node where hash <> %s and id = %s", None),
        ("update ledger_node set level = 16 where hash <> %s and id = %s", None),
    ],
)
def test_a_changed_subtree_is_named(sealed, statement, column):
    node = Node.objects.get(level=8, index=1)
    change("ledger_node", statement, bytes(32), node.pk)
    named = [row for row in told() if row[1] == "ledger_node"]
    assert ("tree-broken", "ledger_node", node.pk if column else None, column) in named


def test_from_an_entry_on_the_tree_is_built_on_stored_subtrees(sealed):
    assert verify(ledger_only=True, start=600).clean
    assert verify(ledger_only=True, start=600).entries == 14
    change("ledger_entrybody", "update ledger_entrybody set leaf_hash = %s where entry_id = 560", bytes(32))
    assert told()[-1] == ("tree-broken", "ledger_treehead", 600, "root")
    change("ledger_treehead", "update ledger_treehead set signature = %s where size = 613", bytes(64))
    assert {f.kind for f in faults(ledger_only=True, start=600)} == {"tree-broken", "signature-bad"}


def test_an_entry_left_behind_by_the_sealer_is_named(eight, clock_at):
    """The sealer does not look below its low water; only a verification finds what was lost there."""
    clock_at("2031-01-01T00:00:00Z")
    note_shelf("MUCH-LATER", said=said())
    seal_all()
    lost = eight[0].entry_id
    later = Leaf.objects.filter(entry_id__gt=lost).order_by("index").values_list("index", "entry_id")
    moves = [(index - 1, entry) for index, entry in later]
    change("ledger_leaf", "delete from ledger_leaf where entry_id >= %s", lost)
    Leaf.objects.bulk_create([Leaf(index=index, entry_id=entry) for index, entry in moves])
    assert sealing.seal() == 0
    assert ("leaf-missing", lost) in [(f.kind, f.entry) for f in faults(ledger_only=True)]
