"""The sealed tree held against its leaves: places, stored subtrees, roots and signatures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain
from typing import Any

from django.db.models import Max, Min

from .. import merkle
from ..marks import low_water
from ..models import EntryBody, Leaf, Node, TreeHead
from ..proving import consistency_with
from ..refusals import Refused
from ..sealing import LEVELS, stack_upto
from .faults import Fault, Noted, Tree, body_missing
from .keys import Keys
from .reading import pages

WIDTH = 1 << LEVELS[0]


class Sealed:
    """The tree, built anew while bodies come in by entry number; leaves are taken as soon as their entry is there.

    Leaves stand in the order of sealing, which is nearly that of entries: only the few that came late wait in memory.
    """

    def __init__(self, start: int = 0) -> None:
        self._keys = Keys()
        self.faults = self._keys.faults
        self.waiting: dict[int, bytes] = {}
        self._start = start
        first = self._first_place(start)
        self._stack = stack_upto(first)
        self._upto = Leaf.objects.filter(index__lt=first).aggregate(top=Max("entry_id"))["top"] or 0
        self._leaves = chain.from_iterable(pages(Leaf.objects.all(), "index", "entry_id", after=first - 1))
        self._leaf = next(self._leaves, None)
        self._heads = _heads(first)
        self._head = next(self._heads, None)
        self._last_head = TreeHead.objects.filter(size__lte=first).aggregate(top=Max("size"))["top"] or 0
        self._nodes = _nodes_after(first)
        self._size = first
        self._gap = False  # a leaf is not there: roots after it can't be told
        self._broken = 0

    def _first_place(self, start: int) -> int:
        """Place from which on the tree is built of leaves: the begin of the subtree of the first leaf in question."""
        if not start:
            return 0
        later = Leaf.objects.filter(entry_id__gte=start).aggregate(low=Min("index"))["low"]
        place = Leaf.objects.count() if later is None else later
        first = place - place % WIDTH
        earlier = EntryBody.objects.filter(entry__leaf__index__gte=first, entry_id__lt=start)
        self.waiting = {pk: bytes(leaf) for pk, leaf in earlier.values_list("pk", "leaf_hash")}
        return first

    def take(self, entry: int, leaf: bytes) -> None:
        """The leaf hash of the next entry by number."""
        self.waiting[entry] = leaf
        self._grow(entry)

    def _grow(self, reached: float) -> None:
        """Take leaves into the tree as far as bodies up to entry ``reached`` allow."""
        while self._leaf is not None:
            index, entry = self._leaf
            leaf = self.waiting.pop(entry, None)
            if leaf is None:
                if entry > reached:
                    return
                self.faults.append(body_missing(entry))
                self._gap = True
            self._place(index, entry, leaf or merkle.EMPTY_ROOT)
            self._leaf = next(self._leaves, None)

    def _place(self, index: int, entry: int, leaf: bytes) -> None:
        if index != self._size:
            self._not_there(index - 1)
        self._size = index + 1
        self._upto = max(self._upto, entry)
        if not self._gap:
            self._stack.add(leaf)
            if self._stack.whole:
                self._check_nodes()
        if self._head is not None and self._head.size <= self._size:
            self._check_heads()

    def _not_there(self, last: int) -> None:
        first, self._gap = self._size, True
        words = f"Leaf {first:,} is not there." if last == first else f"Leaves {first:,} to {last:,} are not there."
        self.faults.append(Fault("leaf-missing", "ledger_leaf", words, row=first))

    def _check_nodes(self) -> None:
        for width, index, root in self._stack.whole:
            level = width.bit_length() - 1
            pk, stored = self._nodes.pop((level, index), (None, None))
            if stored != root:
                of = f"leaves {index * width:,} to {(index + 1) * width - 1:,}"
                words = f"The stored root of {of} is not theirs." if pk else f"The stored root of {of} is not there."
                self.faults.append(Fault("tree-broken", "ledger_node", words, row=pk, column="hash" if pk else None))
        self._stack.whole.clear()

    def _check_heads(self) -> None:
        while self._head is not None and self._head.size <= self._size:
            self._check_head(self._head)
            self._head = next(self._heads, None)

    def _check_head(self, head: TreeHead) -> None:
        if fault := self._keys.signature_fault(head):
            self.faults.append(fault)
        if head.before != self._last_head:
            words = f"The head before it was over {head.before:,} leaves; here it is over {self._last_head:,}."
            self.faults.append(Fault("tree-broken", "ledger_treehead", words, row=head.size, column="before"))
        self._last_head = head.size
        if self._gap or head.size < self._size:
            return
        if head.upto != self._upto:
            words = f"The head names entry {head.upto:,} as its highest; it is {self._upto:,}."
            self.faults.append(Fault("tree-broken", "ledger_treehead", words, row=head.size, column="upto"))
        if bytes(head.root) != self._stack.root():
            self._broken += 1
            if self._broken == 1:  # every later one differs as well
                words = f"The root of the first {head.size:,} leaves is another than the head says."
                self.faults.append(Fault("tree-broken", "ledger_treehead", words, row=head.size, column="root"))

    def finish(self) -> None:
        """After the last body: what is left over belongs nowhere."""
        self._grow(float("inf"))
        last = TreeHead.objects.order_by("-size").values_list("size", flat=True).first() or 0
        if last > self._size:
            self._not_there(last - 1)
        elif last < self._size:
            words = f"Leaves {last:,} to {self._size - 1:,} stand under no signed head."
            self.faults.append(Fault("tree-broken", "ledger_treehead", words, row=last or None))
        self._size = max(self._size, last)
        self._check_heads()
        if not self._gap:
            for (level, index), (pk, _) in self._nodes.items():
                words = f"No whole subtree {index:,} of level {level} is there."
                self.faults.append(Fault("tree-broken", "ledger_node", words, row=pk))
        mark = low_water()
        for entry in self.waiting:
            if self._start <= entry <= mark:
                words = "The entry has no leaf, though later ones were sealed long since."
                self.faults.append(Fault("leaf-missing", "ledger_leaf", words, entry=entry))

    def tree(self) -> Tree:
        """The newest head, and whether the whole tree is good."""
        head, good = TreeHead.objects.order_by("-size").first(), not self.faults
        if head is None:
            return Tree(0, merkle.EMPTY_ROOT.hex(), None, None, good)
        return Tree(head.size, bytes(head.root).hex(), head.signed_at, head.key_id, good)


def held_against(noted: Noted) -> tuple[Noted, list[Fault]]:
    """A head noted elsewhere, with the proof that today's tree begins with its leaves, or what is wrong."""
    try:
        proof = consistency_with(noted.size, bytes.fromhex(noted.root))
    except Refused as refused:
        return noted, [Fault("leaf-missing", "ledger_treehead", str(refused), row=noted.size)]
    if not proof.holds:
        words = f"The first {noted.size:,} leaves are not those of the head that was noted."
        return noted, [Fault("tree-broken", "ledger_treehead", words, row=noted.size, column="root")]
    return replace(noted, good=True, path=tuple(node.hex() for node in proof.path)), []


def _heads(first: int) -> Iterator[TreeHead]:
    """Heads over more than the leaves taken as they are."""
    return TreeHead.objects.filter(size__gt=first).order_by("size").iterator(chunk_size=200)


def _nodes_after(first: int) -> dict[tuple[int, int], tuple[Any, bytes]]:
    """Stored roots of the subtrees that fill behind a place."""
    nodes = Node.objects.values_list("level", "index", "pk", "hash")
    return {
        (level, index): (pk, bytes(root))
        for level, index, pk, root in nodes.iterator(chunk_size=5000)
        if level not in LEVELS or (index + 1) << level > first
    }
