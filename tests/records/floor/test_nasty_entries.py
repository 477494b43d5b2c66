"""Whatever is sent, each entry is answered, none ends in a fault, and what has happened is kept for Review."""

import copy
import json
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from records.ledger.models import Entry, Unplaced
from records.ledger.verifying import verify
from tests import builders
from tests.keys import a_key, a_tablet
from tests.records.floor.told import ADDRESS, entry, lot, send, tablet

pytestmark = pytest.mark.django_db
OUTCOMES = {"taken", "flagged", "refused", "conflict", "later"}
# What may stand where something else is due.
NASTY = [
    None,
    True,
    0,
    -1,
    2**31,
    2**63,
    10**30,
    0.1,
    1e308,
    "",
    " ",
    "\x00",
    "F1\x00",
    "\ud800",
    "F\udfff1",
    "x" * 41,
    "x" * 5000,
    "\u202eF1",
    "F1\n",
    "0 g",
    "-5 g",
    "1e400 g",
    "9" * 40 + " g",
    "5 lightyears",
    "2026-02-30T10:00",
    "9999-12-31T23:59:59Z",
    "0001-01-01T00:00:00+14:00",
    "0001-01-01T00:00:00Z",
    str(UUID(int=0)),
    "{" * 50,
    [],
    {},
    [[]],
    [None],
    ["F1"] * 201,
    {"lot": "P1"},
    {"": ""},
    {"name": {"name": {"name": []}}},
    [{"lot": "P1", "amount": "1 g", "doubt": "NaN"}],
    [{"name": "edge", "value": "NaN", "unit": "mm"}],
    [{"name": "edge", "value": "1e99", "unit": "mm"}],
    [{"name": "n" * 41, "value": "2", "unit": "mm"}],
]
MORE = ["by", "device", "depends_on", "sequence", "seen", "second", "signer", "signature", "sitting", "salt", "photos"]
MORE += ["paper", "figures", "time_unsure", "colour"]


def good() -> list[dict]:
    """Entries of many kinds that could be taken."""
    return [
        entry("step", unit="F1", operation="vent", station="TRIM-1", tools=["ML-1"], readings=[]),
        entry("step", unit="F1", operation="trim", readings=[{"name": "edge", "value": "2", "unit": "mm"}]),
        entry("wind", part="TUBE", spools=[lot("SP1", "20 g")], tools=["MD-1"], station="WIND-1"),
        entry("mould", part="OSIER-F", preforms=["T1"], fill=[lot("P1", "15 g")], inserts=[], bladders=[]),
        entry("mix", pot="", mix="EPOXY", components=[lot("R1", "100 g"), lot("H1", "30 g")], scales=["SCALE-1"]),
        entry("measure", unit="F1", lines=[{"characteristic": "bore", "readings": ["34.9"], "gauge": "GA-1"}]),
        entry("hold", item="F1", reason="doubt", words="dull"),
        entry("wait", unit="F1", minutes=5, reading="edge", value="4", of="mm", operation="trim"),
        entry("tank-charge", tank="TK-1", lot="R1", amount="5 kg"),
        entry("tank-draw", tank="TK-1", into="", amount="100 g"),
        entry("tank-clean", tank="TK-1"),
        entry("move", item="F1", station="TRIM-1"),
        entry("call", station="TRIM-1", about="F1"),
        entry("undo", of=str(uuid4())),
    ]


def places(value: object, way: tuple = ()) -> list[tuple]:
    """Ways to everything inside an entry but its key."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    found = [] if way in ((), ("key",)) else [way]
    return found + [one for name, below in inner for one in places(below, (*way, name))]


@st.composite
def spoilt(draw: st.DrawFn) -> dict:
    """A good entry in which one to three things are something else, or are there besides."""
    told = copy.deepcopy(draw(st.sampled_from(good())))
    told["key"] = str(uuid4())
    told["done"] = draw(st.booleans())
    for _ in range(draw(st.integers(0, 3))):
        if draw(st.integers(0, 3)) == 0:
            told[draw(st.sampled_from(MORE))] = copy.deepcopy(draw(st.sampled_from(NASTY)))
            continue
        way = draw(st.sampled_from(places(told)))
        inside = told
        for name in way[:-1]:
            inside = inside[name]
        inside[way[-1]] = copy.deepcopy(draw(st.sampled_from(NASTY)))
    return told


@pytest.fixture
def bench(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))
    builders.a_front("F1")
    builders.a_tube("T1")
    return tablet()


FEW = {"deadline": None, "derandomize": True, "phases": [Phase.generate]}
UNCHECKED = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large]


@settings(max_examples=60, suppress_health_check=UNCHECKED, **FEW)
@given(batch=st.lists(spoilt(), min_size=1, max_size=4))
def test_each_entry_is_answered_and_what_happened_is_kept(bench, batch):
    answers = send(bench, *batch)
    again = send(bench, *batch)
    assert [answer["key"] for answer in answers] == [told["key"] for told in batch]
    for told, first, second in zip(batch, answers, again, strict=True):
        assert first["outcome"] in OUTCOMES
        assert (second["outcome"], second["code"]) == (first["outcome"], first["code"]) or second["repeat"]
        assert first["code"] != "busy"
        assert first["words"] or first["outcome"] == "taken"
        if told["done"] is True and first["outcome"] in ("refused", "conflict"):
            assert Unplaced.objects.filter(said_key=told["key"]).count() == 1
        if first["outcome"] in ("taken", "flagged"):
            assert Entry.objects.filter(key=told["key"]).count() == 1


@pytest.mark.parametrize("depth", [100, 300, 600, 800, 900, 960])
@pytest.mark.parametrize("is_signed", [False, True])
def test_deep_nesting_is_answered(bench, depth, is_signed):
    device = a_tablet("TRIM-1")
    told = entry("step", unit="F1", operation="vent", done=True) | {"device": device.code}
    if is_signed:
        told |= {"signer": a_key(builders.ALL_ROLES, device).public, "signature": "c2lnbmVk"}
    sent = json.dumps({"entries": [told]})
    body = sent.replace('"operation": "vent"', '"operation": "vent", "deep": ' + "[" * depth + "]" * depth)
    response = bench.post(ADDRESS, body, content_type="application/json")
    if response.status_code == 200:
        (answer,) = response.json()["answers"]
        assert answer["outcome"] == "refused"
        assert answer["code"] in ("malformed", "bad-signature")
        assert Unplaced.objects.count() == 1
    else:
        assert (response.status_code, response.json()["code"]) == (400, "malformed")


def test_a_key_used_twice_in_one_batch_is_one_entry_or_a_conflict(bench):
    told = entry("step", unit="F1", operation="vent")
    other = told | {"payload": told["payload"] | {"station": "TRIM-1"}}
    answers = send(bench, told, told, other, told)
    assert [(a["outcome"], a["repeat"]) for a in answers] == [
        ("taken", False),
        ("taken", True),
        ("conflict", False),
        ("taken", True),
    ]
    assert Unplaced.objects.get().code == "conflict"


def test_entries_that_depend_on_each_other_in_a_ring_are_taken_in_the_order_sent(bench):
    one, other = entry("step", unit="F1", operation="vent"), entry("step", unit="F1", operation="trim")
    one["depends_on"], other["depends_on"] = [other["key"]], [one["key"]]
    itself = entry("tank-clean", tank="TK-1")
    itself["depends_on"] = [itself["key"]]
    assert [answer["outcome"] for answer in send(bench, one, other, itself)] == ["taken"] * 3


@pytest.mark.parametrize(
    "told", [7, None, "F1", [], {"done": True}, {"done": True, "key": 7}, {"done": True, "key": "x"}]
)
def test_what_has_no_key_is_kept_for_review_once(bench, told):
    for _ in range(2):
        (answer,) = send(bench, told)
        assert (answer["outcome"], answer["code"]) == ("refused", "malformed")
    assert Unplaced.objects.count() == 1
    assert verify().faults == ()


def test_a_huge_batch_is_sent_back_with_a_sentence(bench):
    ten_thousand = json.dumps({"entries": [entry("tank-clean", tank="TK-1") for _ in range(10_000)]})
    response = bench.post(ADDRESS, ten_thousand, content_type="application/json")
    assert (response.status_code, response.json()["code"]) == (400, "malformed")
    large = entry("hold", item="F1", reason="doubt", words="x" * 21 * 1024 * 1024)
    response = bench.post(ADDRESS, json.dumps({"entries": [large]}), content_type="application/json")
    assert (response.status_code, response.json()["code"]) == (413, "too-large")
    assert response.json()["words"].endswith(".")
