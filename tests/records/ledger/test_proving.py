"""Proofs from the stored tree."""

import pytest

from records.ledger import merkle, sealing
from records.ledger.models import Leaf, Node, TreeHead
from records.ledger.proving import proof_of
from records.ledger.refusals import Refused
from records.ledger.sealing import leaf_hashes, seal, seal_all
from tests.records.ledger.book import MANY, taken

pytestmark = pytest.mark.django_db


def assert_proofs_are_the_standards(sizes: list[int], entries: list[int]) -> None:
    leaves = list(leaf_hashes(0, MANY))
    for size in sizes:
        for entry in (entry for entry in entries if entry <= size):
            proof = proof_of(entry, size=size)
            assert proof.holds
            assert list(proof.path) == merkle.inclusion_proof(leaves[:size], proof.index)


def test_a_proof_from_stored_subtrees_is_that_of_the_standard(many_entries):
    while seal(197):
        pass
    assert_proofs_are_the_standards([197, 394, 591, 613], [1, 2, 197, 256, 257, 400, 512, 513, 612, 613])


def test_so_it_is_where_subtrees_of_three_levels_are_kept(many_entries, monkeypatch):
    """Levels of 4, 16 and 64 leaves stand in for 256, 65,536 and 16,777,216, which no test could fill."""
    monkeypatch.setattr(sealing, "LEVELS", (2, 4, 6))
    monkeypatch.setattr(sealing, "KEPT", 4 + 16 + 64)
    while seal(197):
        pass
    assert [Node.objects.filter(level=level).count() for level in (2, 4, 6)] == [153, 38, 9]
    assert_proofs_are_the_standards([197, 591, 613], [1, 5, 64, 65, 80, 257, 320, 577, 613])


def test_without_a_size_the_newest_head_is_taken():
    for number in (1, 2):
        taken(number, 0)
        seal_all()
    assert (proof_of(1).size, proof_of(1, size=1).size) == (2, 1)
    assert proof_of(1).root == bytes(TreeHead.objects.get(size=2).root)


def test_a_proof_does_not_hold_for_another_payload():
    taken(1, 0)
    taken(2, 0)
    seal_all()
    proof = proof_of(1)
    assert proof.holds
    assert not type(proof)(**vars(proof) | {"payload": "another"}).holds


@pytest.mark.parametrize(("entry", "size"), [(3, None), (2, 1), (1, 5), (9, None)])
def test_what_stands_in_no_such_tree_has_no_proof(entry, size):
    for number in (1, 2):
        taken(number, 0)
        seal_all()
    taken(3, 0)
    with pytest.raises(Refused) as refused:
        proof_of(entry, size=size)
    assert refused.value.code == "not-sealed"
    assert Leaf.objects.count() == 2
