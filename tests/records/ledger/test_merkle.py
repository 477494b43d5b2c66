"""The tree against published vectors (transparency-dev/merkle, Apache-2.0; source and licence stand in the file)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.ledger import merkle
from tests.records.ledger.book import reference

VECTORS = reference("merkle-vectors.json")
LEAVES = [merkle.leaf_hash(bytes.fromhex(text)) for text in VECTORS["leafInputs"]]
WORKED = (
    b'{"asked":"2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881","by":7,"device":"tab-03",'
    b'"happened_at":"2026-11-24T09:14:01.320000Z","key":"0198a2c4-7d10-7c3e-9a55-3f1b2c4d5e6f","kind":"measured",'
    b'"made_at":"2026-11-24T09:14:03.120000Z","offset_ms":-1800,"rows":[{"characteristic_id":31,"first_id":null,'
    b'"gauge_id":5,"id":90412,"item_id":4217,"remark":null,"status":0,"t":"inspection_measurement",'
    b'"unit_kind":"length","value":34950000,"version":1,"written":"34,95"}],'
    b'"taken_at":"2026-11-24T09:14:04.007512Z","v":1,"works":"TW"}'
)


def plain_root(leaves: list[bytes]) -> bytes:
    """The definition of RFC 9162 2.1.1, word for word."""
    if not leaves:
        return merkle.EMPTY_ROOT
    if len(leaves) == 1:
        return leaves[0]
    k = max(1 << n for n in range(len(leaves).bit_length()) if 1 << n < len(leaves))
    return merkle.node_hash(plain_root(leaves[:k]), plain_root(leaves[k:]))


@pytest.mark.parametrize("size", range(9))
def test_roots_are_the_published_ones(size):
    assert merkle.root_of(LEAVES[:size]).hex() == VECTORS["rootBySize"][size]


@pytest.mark.parametrize("case", VECTORS["inclusion"], ids=lambda case: case["name"])
def test_inclusion_is_judged_as_published(case):
    proof = [bytes.fromhex(text) for text in case["proof"]]
    leaf, root = bytes.fromhex(case["leafHash"]), bytes.fromhex(case["root"])
    assert merkle.is_included(leaf, case["leafIndex"], case["treeSize"], proof, root) is case["valid"]


@pytest.mark.parametrize("case", VECTORS["consistency"], ids=lambda case: case["name"])
def test_consistency_is_judged_as_published(case):
    proof = [bytes.fromhex(text) for text in case["proof"]]
    roots = bytes.fromhex(case["root1"]), bytes.fromhex(case["root2"])
    assert merkle.is_consistent(case["size1"], case["size2"], proof, *roots) is case["valid"]


def test_hashes_are_the_published_ones():
    found = {example["what"]: example["value"] for example in VECTORS["hashExamples"]}
    assert merkle.EMPTY_ROOT.hex() == found["empty tree"]
    assert merkle.leaf_hash(b"").hex() == found["leaf of empty bytes"]
    assert merkle.leaf_hash(b"L123456").hex() == found["leaf of ASCII L123456"]


def test_the_worked_example_of_two_entries():
    """Worked by another program before this one was written."""
    first, second = merkle.leaf_hash(WORKED), merkle.leaf_hash(b'{"kind":"second","v":1}')
    assert len(WORKED) == 537
    assert first.hex() == "b8ed4e39a0f9d10e39ed373c1de78e0a3de13a45e9c54d8e4a31f3ae48762f9e"
    assert second.hex() == "a36aa6966e459f6956791bdb700a716691d24ed6d422b044b7bf631e515e58b7"
    root = "4618a562aa24ff87220ba27dc75af3cbd6c53c209dd1c001442f916d66f93341"
    assert merkle.root_of([first, second]).hex() == root


@given(st.integers(1, 90), st.data())
def test_every_proof_made_is_accepted_and_for_its_own_leaf_only(size, data):
    leaves = [merkle.leaf_hash(bytes([n])) for n in range(size)]
    index = data.draw(st.integers(0, size - 1))
    proof, root = merkle.inclusion_proof(leaves, index), plain_root(leaves)
    assert merkle.root_of(leaves) == root
    assert merkle.is_included(leaves[index], index, size, proof, root)
    assert not merkle.is_included(merkle.leaf_hash(b"another"), index, size, proof, root)


@given(st.integers(1, 90), st.data())
def test_every_proof_of_an_earlier_tree_is_accepted_and_for_that_tree_only(size, data):
    leaves = [merkle.leaf_hash(bytes([n])) for n in range(size)]
    old = data.draw(st.integers(1, size))
    proof = [plain_root(leaves[start:stop]) for start, stop in merkle.consistency_spans(old, size)]
    assert merkle.is_consistent(old, size, proof, plain_root(leaves[:old]), plain_root(leaves))
    other = plain_root([merkle.leaf_hash(b"another"), *leaves[1:old]])
    assert not merkle.is_consistent(old, size, proof, other, plain_root(leaves))
    assert not merkle.is_consistent(old, size, proof, plain_root(leaves[:old]), other)


@pytest.mark.parametrize(
    ("old", "new", "spans"),
    [(3, 7, [(2, 3), (3, 4), (0, 2), (4, 7)]), (4, 7, [(4, 7)]), (6, 7, [(4, 6), (6, 7), (0, 4)]), (7, 7, [])],
)
def test_the_worked_consistency_proofs_of_the_standard(old, new, spans):
    """RFC 9162 section 2.1.5: PROOF(3, D[7]) = [c, d, g, l], PROOF(4, D[7]) = [l], PROOF(6, D[7]) = [i, j, k]."""
    assert merkle.consistency_spans(old, new) == spans


@given(st.integers(0, 70))
def test_whole_subtrees_are_noted_as_they_fill(size):
    leaves = [merkle.leaf_hash(bytes([n])) for n in range(size)]
    stack = merkle.Stack(watched=4 + 16)
    for leaf in leaves:
        stack.add(leaf)
    due = {(4, n): plain_root(leaves[4 * n : 4 * n + 4]) for n in range(size // 4)}
    due |= {(16, n): plain_root(leaves[16 * n : 16 * n + 16]) for n in range(size // 16)}
    assert {(width, index): root for width, index, root in stack.whole} == due


def test_a_subtree_stands_only_where_its_width_divides_the_place():
    stack = merkle.Stack()
    stack.add(LEAVES[0])
    with pytest.raises(ValueError, match="can't stand at 1"):
        stack.add(LEAVES[1], 2)
