"""Review sees what could not be taken, and what was judged by other rules than the tablet showed, side by side."""

import pytest

from plant.catalogue import specs
from plant.catalogue.actions import approve_change, propose_change
from records.floor.actions import answer_difference
from records.floor.differing import Side, compared, to_compare
from records.floor.models import Difference
from records.ledger.models import Unplaced
from records.ledger.refusals import Refused
from records.ledger.verifying import verify
from records.trace.unplaced import may_have_gone_in
from tests import builders
from tests.builders import moment, said
from tests.records.floor.told import entry, lot, send, tablet

pytestmark = pytest.mark.django_db
LINE = {"characteristic": "bore", "readings": ["34.94"], "gauge": "GA-1"}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(moment(5))


def approved(spec) -> None:
    proposal = propose_change(spec, reason="bearing rattles", said=said(3, by="engineer"))
    approve_change(proposal, said=said(3, by="manager"))


def a_narrower_bore() -> None:
    approved(specs.CharacteristicSpec("bore", "OSIER-F", "mm", lower="34.88", upper="34.92"))


def measured_with(revision: str) -> dict:
    told = entry("measure", hours=4, done=True, unit="F1", lines=[LINE])
    return told | {"seen": {"bands": [{"name": "bore", "revision": revision}]}}


def test_a_value_stands_under_both_bands_with_a_verdict_by_each():
    a_narrower_bore()
    (answer,) = send(tablet(), measured_with("1"))
    assert answer["differs"] == ["The tablet showed revision 1 of the band of bore; it was judged by revision 2."]
    (row,) = to_compare()
    (both,) = compared(row)
    assert (both.name, both.got, both.changes) == ("bore", "34.94 mm", True)
    assert both.seen == Side("1", "34.85 to 34.95 mm", "within")
    assert both.judged == Side("2", "34.88 to 34.92 mm", "outside-high")
    assert verify().faults == ()


def test_a_reading_of_a_step_stands_under_both_routes():
    readings = [specs.ReadingSpec("edge", "mm", "2", "3")]
    steps = [specs.OperationSpec("mould", tool_kind="mould"), specs.OperationSpec("trim", readings=readings)]
    send(tablet(), entry("step", hours=2, unit="F1", operation="vent"))
    approved(specs.RouteSpec("OSIER-F", steps))
    told = entry(
        "step",
        hours=4,
        done=True,
        unit="F1",
        operation="trim",
        readings=[{"name": "edge", "value": "1.5", "unit": "mm"}],
    )
    (answer,) = send(tablet(), told | {"seen": {"route": "2"}})
    assert answer["differs"] == ["The tablet showed revision 2 of the route; it was judged by revision 1."]
    (both,) = compared(Difference.objects.get())
    assert (both.seen.band, both.seen.verdict) == ("2 to 3 mm", "outside-low")
    assert (both.judged.band, both.judged.verdict) == ("1 to 3 mm", "within")


def test_the_same_rules_leave_nothing_to_compare_and_a_repeat_notes_it_once():
    send(tablet(), measured_with("1"))
    assert list(to_compare()) == []
    a_narrower_bore()
    told = measured_with("1")
    send(tablet(), told)
    (answer,) = send(tablet(), told | {"seen": {"bands": [{"name": "bore", "revision": "0"}]}})
    assert answer["repeat"]
    assert Difference.objects.get().seen == "1"
    assert not Unplaced.objects.exists()


def test_review_answers_a_difference_once():
    a_narrower_bore()
    send(tablet(), measured_with("1"))
    review, row = tablet("review"), Difference.objects.get()
    address = f"/review/kept/rules/{row.pk}/"
    page = review.get(address)
    assert "34.85 to 34.95 mm" in page.content.decode()
    form = page.context["form"]
    sent = {"key": form["key"].value(), "drawn_at": form["drawn_at"].value(), "found": "held", "words": "too wide"}
    assert review.post(address, sent).status_code == 302
    assert list(to_compare()) == []
    with pytest.raises(Refused) as refused:
        answer_difference(row, found="stands", words="seen", said=said(5, by="second"))
    assert refused.value.code == "answered"


def test_what_could_not_be_taken_is_listed_with_what_it_names_and_told_field_by_field():
    builders.a_lot("R9")
    told = entry("step", done=True, unit="F1", operation="refill", fill=[{"lot": "R9", "amount": "5 g"}])
    (answer,) = send(tablet(), told)
    assert answer["outcome"] == "refused"
    review = tablet("review")
    page = review.get("/review/kept/").content.decode()
    assert "1 entry could not be taken" in page
    assert ">F1<" in page
    assert ">R9<" in page
    one = review.get(f"/review/kept/{Unplaced.objects.get().entry.key}/").content.decode()
    assert "counts as possible in every trace" in one
    assert "refill" in one


def test_review_is_told_of_an_entry_sent_twice_what_a_trace_does_with_it():
    builders.a_spool("SP77", lot="L77")
    told = entry("wind", unit="T77", part="TUBE", station="WIND-1", tools=["MD-1"], spools=[lot("SP77", "20 g")])
    other = {**told, "payload": {**told["payload"], "spools": [lot("SP77", "25 g")]}}
    assert [answer["outcome"] for answer in send(tablet(), told, other)] == ["taken", "conflict"]
    review = tablet("review")
    assert "stands in traces as it came first" in review.get("/review/kept/").content.decode()
    assert "as it came first</span>" in review.get("/review/kept/").content.decode()
    one = review.get(f"/review/kept/{Unplaced.objects.get().entry.key}/").content.decode()
    assert "It came before with other content" in one
    assert "counts as possible" not in one


@pytest.mark.parametrize(
    ("kind", "code", "counts"),
    [("mix", "malformed", True), ("mix", "conflict", False), ("call", "malformed", False)],
)
def test_what_goes_in_by_an_entry_counts_unless_its_first_sending_stands(kind, code, counts):
    assert may_have_gone_in(kind, code, {}) is counts
