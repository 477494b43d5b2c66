"""Genealogy through the real actions against a slow model: both ways, as known at earlier marks, in any order told."""

from datetime import timedelta

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, event, note, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from plant.quantities import Quantity
from records.items import actions as items
from records.items.making import Input
from records.items.mixing import CHARGE, CLEAN, DRAW, work_out
from records.items.models import Item, Link
from records.items.queries import item_by_code
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.marks import Mark, mark_at
from records.ledger.models import Entry, Unplaced
from records.ledger.refusals import Refused
from records.ledger.verifying import verify
from records.quality.actions import swap_labels
from records.steps.actions import Bonding, Moulding, bond, mould
from records.trace.walking import walk
from tests import builders
from tests.records.trace.genealogy import ENDED, STANDS, WITHDRAWN, Model
from tests.records.trace.slow_walk import slow_labels

FEW = max(4, settings().max_examples // 16)
OFTEN = settings(
    max_examples=FEW,
    stateful_step_count=24,
    phases=[Phase.reuse, Phase.generate],  # making an example smaller takes minutes
    suppress_health_check=list(HealthCheck),
    report_multiple_bugs=False,
)
HOURS = st.integers(0, 9)
GRAMS = st.sampled_from([1, 7, 100, 5000])
# Microscopic amounts beside big ones: shares below the floor of a stored link.
POURED = st.sampled_from([1, 5, 1000, 10**9, 3 * 10**9, 10**10])
SHARES = st.none() | st.sampled_from([0, 300_000_000, 900_000_000, 10**9])
PICK = st.integers(0, 10**6)


class Genealogy(RuleBasedStateMachine):
    """Each rule tells one act and notes in the model what it means."""

    def __init__(self):
        super().__init__()
        self.block = transaction.atomic()
        self.block.__enter__()
        self.model, self.entries, self.lots, self.pots, self.fronts, self.rears, self.frames = (
            Model(),
            [],
            [],
            [],
            [],
            [],
            [],
        )
        self.count, self.refused = 10, set()

    def teardown(self):
        try:
            self.check_everything()
        finally:
            transaction.set_rollback(True)
            self.block.__exit__(None, None, None)

    # ---- telling

    def name(self, kind):
        self.count += 1
        return f"{kind}{self.count}"

    def tell(self, hour, act):
        """Tell an act as done; the number of its entry, or none where it was refused."""
        said = Said(self.by, builders.uuid4(), builders.moment(hour), done=True)
        try:
            with clock.at(builders.MONDAY + timedelta(days=30, seconds=len(self.entries))):
                act(said)
        except Refused as refused:
            event(f"refused {refused.code}")
            self.refused.add(refused.code)
            return None
        entry = Entry.objects.get(key=said.key)
        event(entry.kind)
        self.entries.append(entry)
        for item in Item.objects.filter(entry=entry).values_list("pk", flat=True):
            self.model.items[item] = entry.pk
        return entry

    def pick(self, among, number):
        return among[number % len(among)] if among else None

    def pk(self, code):
        return item_by_code(code).pk

    @initialize()
    def open(self):
        self.by = builders.a_person()
        for code in ("R1", "R2"):
            self.receive_one(code, "RES-A")
        self.receive_one("H1", "HRD-A")
        self.receive_one("G1", "ADH-M")
        self.lots = ["R1", "R2"]
        for lot in (0, 1):
            self.mix(0, [(lot, None)])
            self.mould(1, [(lot, None)], is_front=True)
        self.mould(1, [(0, 300_000_000)], is_front=False)
        self.bond(2, 0, 0)

    def receive_one(self, code, part):
        builders.a_lot(code, part)
        self.model.items[self.pk(code)] = Entry.objects.order_by("-pk")[1].pk

    # ---- lots

    @rule(hour=HOURS)
    def receive(self, hour):
        self.receive_one(code := self.name("R"), "RES-A")
        self.lots.append(code)

    @rule(hour=HOURS, lot=PICK, grams=GRAMS)
    def split(self, hour, lot, grams):
        code, lot = self.name("S"), self.pick(self.lots, lot)
        entry = self.tell(hour, lambda said: items.split_lot(lot, [amount(code, grams)], said=said))
        self.lots.append(code)
        self.model.tie(entry.pk, self.pk(code), self.pk(lot), entry.happened_at)

    @rule(hour=HOURS, into=PICK, lots=st.lists(PICK, min_size=1, max_size=3), grams=GRAMS, fresh=st.booleans())
    def merge(self, hour, into, lots, grams, fresh):
        code = self.name("M") if fresh else self.pick(self.lots, into)
        inputs = [self.pick(self.lots, lot) for lot in lots]
        entry = self.tell(hour, lambda said: items.merge_lots(code, [amount(i, grams) for i in inputs], said=said))
        if entry is None:
            assert code in inputs
            unplaced = Unplaced.objects.order_by("pk").last()
            for lot in set(inputs) - {code}:  # until it is settled nobody knows what was merged with what
                self.model.tie(unplaced.entry_id, self.pk(code), self.pk(lot), unplaced.said_at, 10**9)
            return
        if fresh:
            self.lots.append(code)
        for lot in inputs:
            self.model.tie(entry.pk, self.pk(code), self.pk(lot), entry.happened_at)

    @rule(hour=HOURS, lots=st.lists(st.tuples(PICK, SHARES), min_size=1, max_size=3))
    def mix(self, hour, lots):
        code = self.name("P")
        inputs = [(self.pick(self.lots, lot), share) for lot, share in lots]
        told = [amount(lot, 5, share) for lot, share in inputs] + [amount("H1", 2)]
        entry = self.tell(hour, lambda said: items.mix_pot(code, mix="EPOXY", inputs=told, said=said))
        self.pots.append(code)
        for lot, share in [*inputs, ("H1", None)]:
            self.model.tie(entry.pk, self.pk(code), self.pk(lot), entry.happened_at, share)

    # ---- units

    @rule(hour=HOURS, pots=st.lists(st.tuples(PICK, SHARES), min_size=1, max_size=2), is_front=st.booleans())
    def mould(self, hour, pots, is_front):
        inputs = [(self.pick(self.pots, pot), share) for pot, share in pots if self.pots]
        if not inputs:
            return
        code, part = self.name("F" if is_front else "B"), "OSIER-F" if is_front else "OSIER-R"
        moulding = Moulding([], [amount(pot, 3, share) for pot, share in inputs])
        entry = self.tell(hour, lambda said: mould(code, part=part, moulding=moulding, said=said))
        (self.fronts if is_front else self.rears).append(code)
        for pot, share in inputs:
            self.model.tie(entry.pk, self.pk(code), self.pk(pot), entry.happened_at, share)

    @rule(hour=HOURS, front=PICK, rear=PICK)
    def bond(self, hour, front, rear):
        front, rear = self.pick(self.fronts, front), self.pick(self.rears, rear)
        if front is None or rear is None:
            return
        code, bonding = self.name("X"), Bonding(front, rear, [amount("G1", 1)])
        entry = self.tell(hour, lambda said: bond(code, part="OSIER", bonding=bonding, said=said))
        self.frames.append(code)
        for parent in (front, rear, "G1"):
            self.model.tie(entry.pk, self.pk(code), self.pk(parent), entry.happened_at)

    @rule(hour=HOURS, unit=PICK, item=PICK)
    def take_out(self, hour, unit, item):
        unit = self.pick([*self.fronts, *self.rears, *self.frames], unit)
        knots = [k for k in self.model.knots if k.said[-1][1] == STANDS]
        inside = unit and [k.parent for k in knots if k.child == self.pk(unit)]
        if not inside:
            return
        parent = Item.objects.get(pk=self.pick(inside, item))
        entry = self.tell(hour, lambda said: items.take_out(unit, item=parent.code, words="cracked", said=said))
        for knot in self.model.knots:
            if entry and (knot.child, knot.parent) == (self.pk(unit), parent.pk) and knot.said[-1][1] == STANDS:
                knot.said.append((entry.pk, ENDED))
                knot.at = entry.happened_at

    @rule(hour=HOURS, unit=PICK, lot=PICK)
    def put_in_lot(self, hour, unit, lot):
        unit = self.pick([*self.fronts, *self.rears, *self.frames], unit)
        lot = self.pick(self.pots, lot)
        if unit:
            entry = self.tell(hour, lambda said: items.put_in(unit, lot=amount(lot, 1), said=said))
            self.model.tie(entry.pk, self.pk(unit), self.pk(lot), entry.happened_at)

    @rule(hour=HOURS, frame=PICK, front=PICK)
    def put_in_unit(self, hour, frame, front):
        frame, front = self.pick(self.frames, frame), self.pick(self.fronts, front)
        if frame and front:
            entry = self.tell(hour, lambda said: items.put_in(frame, item=front, said=said))
            self.model.tie(entry.pk, self.pk(frame), self.pk(front), entry.happened_at)

    @rule(hour=HOURS, item=PICK, lot=PICK, share=SHARES)
    def use_late(self, hour, item, lot, share):
        item = self.pick([*self.pots, *self.fronts, *self.frames, *self.lots], item)
        # Raw resin goes into lots only.
        lot = self.pick([*self.lots, *self.pots] if item in (*self.pots, *self.lots) else self.pots, lot)
        entry = self.tell(
            hour, lambda said: items.tell_use_late(item, lot=amount(lot, 1, share), words="forgotten", said=said)
        )
        if entry:
            self.model.tie(entry.pk, self.pk(item), self.pk(lot), entry.happened_at, share)
        else:
            assert item == lot

    # ---- corrections

    @rule(hour=HOURS, number=PICK, which=PICK, right=PICK)
    def correct(self, hour, number, which, right):
        entry, knot = self.a_knot(number, which)
        if knot is None:
            return
        was, into = Item.objects.get(pk=knot.parent), Item.objects.get(pk=knot.child)
        fitting = {"resin": self.lots, "resin-mix": self.pots, "front": self.fronts, "rear": self.rears}
        right = self.pick(fitting.get(was.part.kind, [was.code]), right)
        correction = items.Correction(was.code, right)
        made = self.tell(hour, lambda said: items.correct_link(entry.key, correction, words="wrong scan", said=said))
        if made is None:
            return
        for old in [k for k in self.model.made_by(entry.pk) if k.parent == was.pk]:
            old.said.append((made.pk, WITHDRAWN))
            self.model.tie(made.pk, old.child, self.pk(right), old.at, old.possible)
        note(f"{was.code} in {into.code} was {right}")

    @rule(hour=HOURS, number=PICK, which=PICK)
    def withdraw(self, hour, number, which):
        entry, knot = self.a_knot(number, which)
        if knot is None:
            return
        was = Item.objects.get(pk=knot.parent)
        made = self.tell(hour, lambda said: items.withdraw(entry.key, was=was.code, words="not so", said=said))
        for old in [k for k in self.model.made_by(entry.pk) if k.parent == was.pk]:
            old.said.append((made.pk, WITHDRAWN))

    def a_knot(self, number, which):
        """An entry and a link that it opened and that stands."""
        standing = [entry for entry in self.entries if self.model.made_by(entry.pk)]
        entry = self.pick(standing, number)
        return entry, entry and self.pick(self.model.made_by(entry.pk), which)

    @rule(hour=HOURS, one=PICK, other=PICK, since=HOURS)
    def swap(self, hour, one, other, since):
        one, other = self.pick(self.fronts, one), self.pick(self.fronts, other)
        if one is None:
            return
        since = builders.moment(since)
        entry = self.tell(hour, lambda said: swap_labels(one, other, since=since, words="both off", said=said))
        if entry is None:
            assert one == other
            return
        opposite = {self.pk(one): self.pk(other), self.pk(other): self.pk(one)}
        for old in list(self.model.knots):
            touched = {old.child, old.parent} & opposite.keys() and old.said[-1][1] == STANDS and old.at >= since
            if touched:
                old.said.append((entry.pk, WITHDRAWN))
                child, parent = opposite.get(old.child, old.child), opposite.get(old.parent, old.parent)
                self.model.tie(entry.pk, child, parent, old.at, old.possible)

    # ---- tank

    @rule(hour=HOURS, lot=PICK, poured=POURED)
    def charge(self, hour, lot, poured):
        lot = self.pick(self.lots, lot)
        told = Input(lot, Quantity(poured, "mass"))
        entry = self.tell(hour, lambda said: items.charge_tank("TK-1", lot=told, said=said))
        if entry:
            self.model.pour(entry.pk, CHARGE, entry.happened_at, self.pk(lot), poured)

    @rule(hour=HOURS, poured=POURED)
    def draw(self, hour, poured):
        code = self.name("D")
        entry = self.tell(
            hour, lambda said: items.draw_tank("TK-1", into=code, quantity=Quantity(poured, "mass"), said=said)
        )
        self.lots.append(code)
        self.model.pour(entry.pk, DRAW, entry.happened_at, self.pk(code), poured)

    @rule(hour=HOURS)
    def clean(self, hour):
        entry = self.tell(hour, lambda said: items.clean_tank("TK-1", said=said))
        self.model.pour(entry.pk, CLEAN, entry.happened_at)

    @rule(hour=HOURS, line=PICK, right=PICK)
    def correct_charge(self, hour, line, right):
        line = self.pick([ln for ln in self.model.log if ln.kind == CHARGE and ln.said[-1][1]], line)
        if line is None:
            return
        right = self.pick(self.lots, right)
        was = Item.objects.get(pk=line.said[-1][1]).code
        key = Entry.objects.get(pk=line.said[0][0]).key
        told = items.Correction(was, right)
        entry = self.tell(hour, lambda said: items.correct_link(key, told, words="wrong can", said=said))
        if entry:
            line.said.append((entry.pk, self.pk(right)))

    @rule(hour=HOURS, line=PICK)
    def withdraw_line(self, hour, line):
        line = self.pick([ln for ln in self.model.log if ln.said[-1][1] is not None], line)
        if line is None:
            return
        key = Entry.objects.get(pk=line.said[0][0]).key
        entry = self.tell(hour, lambda said: items.withdraw(key, words="not so", said=said))
        if entry:
            line.said.append((entry.pk, None))

    # ---- questions

    @invariant()
    def links_of_draws_are_those_of_the_whole_log(self):
        now = 10**12
        due = {}
        for draw in work_out(self.model.lines(now)).draws:
            for portion in draw.portions:
                if portion.stored:
                    due[draw.line.item, portion.lot] = (
                        portion.share_ppb, portion.least_ppb, portion.most_ppb, int(not portion.confirmed)
                    )  # fmt: skip
        columns = ("child", "parent", "share_ppb", "least_ppb", "most_ppb", "certainty")
        found = Link.objects.standing().filter(draw__isnull=False).values_list(*columns)
        assert {row[:2]: row[2:] for row in found} == due
        assert len(found) == len(due)

    def check_everything(self):
        assert self.refused <= {"itself"}
        marks = [None]
        if self.entries:
            moments = [self.entries[len(self.entries) * n // 3] for n in (0, 1, 2)]
            marks += [Mark(entry.pk) for entry in moments]
            for entry in moments:
                assert mark_at(entry.taken_at).upto == entry.pk
        for mark in marks:
            self.check_walks(mark)
        assert verify().faults == ()

    def check_walks(self, mark):
        upto = mark.upto if mark else 10**12
        known = [item for item, born in self.model.items.items() if born <= upto]
        ways = self.model.ways(upto)
        back = [(far, near, cls, share) for near, far, cls, share in ways]
        for worst, ended in ((1, False), (2, True)):
            down = {root: walk([root], down=True, mark=mark, ended=ended).labels for root in known}
            up = {root: walk([root], down=False, mark=mark, ended=ended).labels for root in known}
            for root in known:
                assert shown(down[root]) == slow_labels([root], ways, worst)
                assert shown(up[root]) == slow_labels([root], back, worst)
            classes = {(one, other): label.cls for one in known for other, label in down[one].items()}
            assert classes == {(other, one): label.cls for one in known for other, label in up[one].items()}


def shown(labels):
    return {item: (label.cls, label.share_ppb) for item, label in labels.items()}


def amount(code, grams, possible=None):
    return Input(code, Quantity(grams * 10**6, "mass", f"{grams} g"), possible)


@pytest.mark.long
@pytest.mark.django_db
def test_every_walk_equals_the_slow_model_also_as_known_before():
    builders.a_works(holds={})
    run_state_machine_as_test(Genealogy, settings=OFTEN)
