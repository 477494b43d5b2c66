"""The tree over the ledger's leaves as RFC 9162 section 2.1 defines it; no Django.

A leaf is hashed with a zero byte before it, a node with a one byte, and a row of n > 1 leaves is split at the largest
power of two below n. Inclusion proofs are those of RFC 9162 section 2.1.3, consistency proofs those of 2.1.4.
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256

HASH_SIZE = 32
EMPTY_ROOT = sha256(b"").digest()


def leaf_hash(payload: bytes) -> bytes:
    """SHA-256(00 || payload)."""
    return sha256(b"\x00" + payload).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """SHA-256(01 || left || right)."""
    return sha256(b"\x01" + left + right).digest()


class Stack:
    """Running root of leaves that come one after another, in logarithmic space.

    ``watched`` is a sum of powers of two: subtrees of these widths are noted in ``whole`` when they fill, as width,
    number among those of the width, and root.

    Examples
    --------
    >>> stack = Stack()
    >>> stack.root() == EMPTY_ROOT
    True
    """

    def __init__(self, watched: int = 0) -> None:
        self._subtrees: list[tuple[int, bytes]] = []
        self.size = 0
        self.watched = watched
        self.whole: list[tuple[int, int, bytes]] = []

    def add(self, subtree: bytes, leaves: int = 1) -> None:
        """Append the root of a whole subtree of ``leaves`` leaves, a power of two that divides the size so far."""
        if leaves & (leaves - 1) or self.size % leaves:
            raise ValueError(f"a subtree of {leaves} leaves can't stand at {self.size}")
        self.size += leaves
        while self._subtrees and self._subtrees[-1][0] == leaves:
            _, left = self._subtrees.pop()
            subtree, leaves = node_hash(left, subtree), leaves * 2
            if leaves & self.watched:
                self.whole.append((leaves, self.size // leaves - 1, subtree))
        self._subtrees.append((leaves, subtree))

    def root(self) -> bytes:
        """Root of all that was added."""
        if not self._subtrees:
            return EMPTY_ROOT
        root = self._subtrees[-1][1]
        for _, left in reversed(self._subtrees[:-1]):
            root = node_hash(left, root)
        return root


def root_of(leaves: Sequence[bytes]) -> bytes:
    """Root of a row of leaf hashes."""
    stack = Stack()
    for leaf in leaves:
        stack.add(leaf)
    return stack.root()


def split(size: int) -> int:
    """Largest power of two below a size of at least two: how many leaves stand on the left."""
    return 1 << ((size - 1).bit_length() - 1)


def inclusion_proof(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """Sibling hashes from leaf ``index`` up to the root."""
    if not 0 <= index < len(leaves):
        raise ValueError(f"index must lie in 0..{len(leaves) - 1}, got {index}")
    if len(leaves) == 1:
        return []
    k = split(len(leaves))
    if index < k:
        return [*inclusion_proof(leaves[:k], index), root_of(leaves[k:])]
    return [*inclusion_proof(leaves[k:], index - k), root_of(leaves[:k])]


def is_included(leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes) -> bool:
    """Whether a proof shows ``leaf`` at ``index`` in the tree of ``size`` leaves with ``root`` (RFC 9162 2.1.3.2)."""
    if not 0 <= index < size or any(len(value) != HASH_SIZE for value in (leaf, *proof, root)):
        return False
    node, last, found = index, size - 1, leaf
    for sibling in proof:
        if last == 0:
            return False
        if node & 1 or node == last:
            found = node_hash(sibling, found)
            while not node & 1 and node:
                node, last = node >> 1, last >> 1
        else:
            found = node_hash(found, sibling)
        node, last = node >> 1, last >> 1
    return last == 0 and found == root


def consistency_spans(old: int, new: int) -> list[tuple[int, int]]:
    """Spans of leaves whose roots show that the first ``old`` of ``new`` leaves are unchanged (RFC 9162 2.1.4.1)."""
    if not 0 < old <= new:
        raise ValueError(f"an earlier size must lie in 1..{new}, got {old}")
    start, stop, spans = 0, new, []
    while old < stop:
        middle = start + split(stop - start)
        if old <= middle:
            spans.append((middle, stop))
            stop = middle
        else:
            spans.append((start, middle))
            start = middle
    # The root of the old tree itself is known to whoever asks.
    return [(start, stop), *spans[::-1]] if start else spans[::-1]


def is_consistent(old: int, new: int, proof: Sequence[bytes], old_root: bytes, new_root: bytes) -> bool:
    """Whether a proof shows that the tree of ``new`` leaves begins with that of ``old`` (RFC 9162 2.1.4.2)."""
    if old == new:
        return old > 0 and not proof and old_root == new_root
    if not 0 < old < new or any(len(value) != HASH_SIZE for value in (*proof, old_root, new_root)):
        return False
    path = [old_root, *proof] if old & (old - 1) == 0 else list(proof)
    if not path:
        return False
    node, last = old - 1, new - 1
    while node & 1:
        node, last = node >> 1, last >> 1
    found_old = found_new = path[0]
    for sibling in path[1:]:
        if last == 0:
            return False
        if node & 1 or node == last:
            found_old, found_new = node_hash(sibling, found_old), node_hash(sibling, found_new)
            while not node & 1 and node:
                node, last = node >> 1, last >> 1
        else:
            found_new = node_hash(found_new, sibling)
        node, last = node >> 1, last >> 1
    return last == 0 and (found_old, found_new) == (old_root, new_root)
