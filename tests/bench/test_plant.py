"""The plant filled in bulk is as the actions write one: its states are those that the records give, its rows alike."""

import pytest
from django.db import models, transaction

from records.items.actions import clean_tank, correct_link, split_lot, take_out
from records.items.actions.correcting import Correction
from records.items.models import CodeCounter, Item, ItemCode, ItemState, Link, LotDecision, Move, Receipt, TankEntry
from records.items.queries import item_by_code
from records.items.rebuilding import code_counters, item_states
from records.ledger.models import Entry
from records.steps.actions import Made, Moulding, mould, wind
from records.trace.queries import where_used
from tests import builders
from tests.bench import plant
from tests.bench.filling import fill_plant
from tests.bench.joins import frames_by_joins

TABLES = (Entry, Item, ItemCode, ItemState, Link, LotDecision, Move, Receipt, TankEntry)
FRAMES = 48  # enough that some pots draw on the tank


def kinds_of_rows(table: type[models.Model]) -> dict[str, set[frozenset[str]]]:
    """Which columns are filled together in a table: by the kind of the part, else for all rows."""
    by = {Link: "child__revision__part__kind", Entry: "kind"}.get(table, "item__revision__part__kind")
    if table is Item:
        by = "revision__part__kind"
    found: dict[str, set[frozenset[str]]] = {}
    columns = [field.attname for field in table._meta.concrete_fields]
    for kind, *values in table._base_manager.values_list(by, *columns):
        filled = frozenset(name for name, value in zip(columns, values, strict=True) if value not in (None, ""))
        found.setdefault(kind, set()).add(filled)
    return found


def kinds_of_links() -> set[tuple]:
    """Kinds of the two ends of links, and what they carry; of those that came of a correction only the latter."""
    ends = ("child__revision__part__kind", "parent__revision__part__kind")
    rows = Link.objects.values_list(*ends, "version", "status", "reason", "certainty", "draw", "amount", "words")
    found = set()
    for child, parent, version, status, reason, certainty, *more in rows:
        kind = (version, status, reason, certainty, *(value is not None for value in more))
        found.add(kind if version > 1 or reason == "corrected" else (child, parent, *kind))
    return found


def by_the_actions() -> None:
    """A frame made by the actions, with all that the plant knows."""
    builders.a_works()
    clean_tank("TK-1", said=builders.said(-4))
    builders.a_charge("R1", "5 kg", hours=-3)
    builders.a_draw("D1", "1 kg", hours=-2)
    for code, resin in (("P1", "D1"), ("P2", "R1")):
        builders.a_pot(code, resin=resin, hours=-1)
    builders.a_lot("BB1", "INS-BB", "50 pcs")
    split_lot("BB1", [builders.of("BB2", "10 pcs")], said=builders.said(-20))
    builders.a_lot("BD1", "BND-A", "2 kg")
    split_lot("BD1", [builders.of("BD2", "1 kg")], said=builders.said(-20))
    for spool in ("SP1", "SP2"):
        builders.a_spool(spool)
    wound, moulded = Made(["MD-1"], "WIND-1"), Made(["ML-1"], "MOULD-1")
    for unit, part, pot in (("F1", "OSIER-F", "P1"), ("B1", "OSIER-R", "P2")):
        tubes = [f"{unit}-{n}" for n in range(3)]
        for tube in tubes:
            lots = [builders.of(lot, "20 g") for lot in ("SP1", "SP2", "BD2")]
            wind(tube, part="TUBE", spools=lots, made=wound, said=builders.said(-0.5))
        moulding = Moulding(tubes, [builders.of(pot, "15 g")], [builders.of("BB2", "1 pcs")])
        mould(unit, part=part, moulding=moulding, made=moulded, said=builders.said(-0.4))
    for step, unit in (("vent", "F1"), ("trim", "F1"), ("trim", "B1")):
        builders.a_step(unit, step)
    builders.some_glue("G1", hours=1.5)
    builders.a_frame("X1", front="F1", rear="B1")
    builders.some_glue("G2", hours=2)
    for unit, was, right in (("F1-0", "SP1", "SP2"), ("F1", "P1", "P2"), ("B1", "P2", "P1"), ("X1", "G1", "G2")):
        entry = Entry.objects.get(pk=item_by_code(unit).entry_id)
        correct_link(entry.key, Correction(was, right), words="another label", said=builders.said(5))
    take_out("X1", item="F1", words="blister", said=builders.said(50))


@pytest.mark.django_db
def test_the_plant_is_as_the_actions_write_one(monkeypatch):
    with transaction.atomic():
        by_the_actions()
        rows, links = {table: kinds_of_rows(table) for table in TABLES}, kinds_of_links()
        transaction.set_rollback(True)
    monkeypatch.setattr(plant, "WRONG", 30)  # in a hundred: so few frames would hardly have one
    monkeypatch.setattr(plant, "TAKEN_OUT", 100)
    fill_plant(FRAMES)
    assert kinds_of_links() == links
    for table in TABLES:
        found = kinds_of_rows(table)
        # The actions also told of steps, which the plant leaves out.
        assert found == {kind: rows[table].get(kind) for kind in (found if table is Entry else rows[table])}, table


@pytest.mark.django_db
def test_states_of_the_plant_follow_from_its_records_and_joins_find_what_a_trace_finds():
    fill_plant(FRAMES)
    for state, rebuilt in ((ItemState, item_states()), (CodeCounter, code_counters())):
        told = [{name: getattr(row, name) for name in rebuilt[0]} for row in state.objects.all()]
        key = next(iter(rebuilt[0]))
        assert sorted(told, key=lambda row: row[key]) == sorted(rebuilt, key=lambda row: row[key])
    for lot in Item.objects.filter(origin=Item.Origin.RECEIVED).select_related("state"):
        frames = {frame.code for frame in where_used(lot.code).frames}
        assert frames == {row[1] for row in frames_by_joins(lot.code)} != set()


def test_a_plant_is_the_same_each_time_and_has_batches_of_some_four_hundred_frames():
    one, other = plant.plant_of(1200), plant.plant_of(1200)
    for mine, theirs in zip(one.uses, other.uses, strict=True):
        assert (mine.it == theirs.it).all()
        assert (mine.wrong == theirs.wrong).all()
    pots = [uses for uses in one.uses if uses.child == "pot" and uses.parent != "hardener"]
    assert sum(len(uses.of) for uses in pots) == len(one.things["pot"].born) == 200
    # Straight from a batch, or by a drawn lot that holds several.
    batches = {(int(pot), int(batch)) for pot, batch in zip(pots[0].of, pots[0].it, strict=True)}
    held = {(int(drawn), int(resin)) for drawn, resin, *_ in one.shares}
    batches |= {(int(pots[1].of[drawn]), resin) for drawn, resin in held}
    in_frames = [sum(batch == one for _, one in batches) * plant.SHOTS // 2 for batch in (0, 1, 2)]
    assert 288 <= min(in_frames) < 400 < max(in_frames) < 600
