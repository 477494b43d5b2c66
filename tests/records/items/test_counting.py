"""Lots counted blind: kept beside what the records said, nothing else changes, and a difference gets its reason."""

import csv
import io

import pytest
from django.urls import reverse

from plant.quantities import read_quantity
from records.items.actions import Counted, count_stock, explain_count
from records.items.models import CountReason, StockCount
from records.items.queries import balances, item_by_code
from records.ledger.acts import flags_of
from records.ledger.refusals import Conflict, Refused
from tests import builders
from tests.records.floor.told import tablet
from tests.refusing import refuses

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_lot("R1", quantity="20 kg")
    builders.a_lot("R2", quantity="5 kg")
    clock_at(builders.moment(5))


def counted(*told: tuple[str, str], said=None) -> list[StockCount]:
    return count_stock([Counted(lot, read_quantity(amount)) for lot, amount in told], said=said or builders.said(4))


def press(name: str, *args: object, role: str = "stores", **told: str):
    client, address = tablet(role), reverse(f"items:{name}", args=args)
    form = client.get(address).context["form"]
    return client.post(address, {field: str(form.initial[field]) for field in ("key", "drawn_at")} | told)


def test_a_count_stands_beside_what_the_records_said_and_changes_no_amount():
    before = balances([item_by_code("R1").pk])
    one, other = counted(("R1", "19.98 kg"), ("R2", "5 kg"))
    assert (one.difference, other.difference) == (-20_000_000, 0)
    assert balances([item_by_code("R1").pk]) == before
    assert item_by_code("R1").state.remaining == one.expected == 20_000_000_000


def test_a_repeat_gives_back_the_same_counts():
    said = builders.said(4)
    first = counted(("R1", "19 kg"), said=said)
    assert [one.pk for one in counted(("R1", "19 kg"), said=said)] == [one.pk for one in first]
    assert StockCount.objects.count() == 1


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ([], "nothing"),
        ([("R1", "1 kg"), ("r1", "2 kg")], "counted-twice"),
        ([("R1", "3 pcs")], "wrong-kind"),
        ([("F1", "1 kg")], "wrong-kind"),
        ([("R9", "1 kg")], "unknown"),
        ([("R1", "-1 kg")], "not-a-number"),
    ],
)
def test_what_cannot_be_a_count_is_refused_and_nothing_is_kept(told, code):
    builders.a_front("F1")
    with pytest.raises(Refused) as refused:
        counted(("R2", "5 kg"), *told) if told else counted()
    assert refused.value.code == code
    assert StockCount.objects.count() == 0


def test_a_difference_is_explained_once():
    (count,) = counted(("R1", "19 kg"))
    explain_count(count, why="unlogged", words="a pot of Tuesday", said=builders.said(4.5))
    assert str(CountReason.objects.get().words) == "a pot of Tuesday"
    with pytest.raises(Conflict, match="said why already"):
        explain_count(StockCount.objects.get(), why="lost", said=builders.said(4.6))


def test_no_difference_wants_no_reason_and_a_reason_is_one_of_the_list():
    right, wrong = counted(("R2", "5 kg"), ("R1", "1 kg"))
    for count, why, code in ((right, "lost", "no-difference"), (wrong, "because", "no-reason")):
        with pytest.raises(Refused) as refused:
            explain_count(count, why=why, said=builders.said(4.5))
        assert refused.value.code == code


def test_a_scale_past_its_check_flags_a_count_and_is_kept_with_it():
    builders.a_lot("N1", "INS-BB", "60 pcs")
    told = builders.said(4)
    both = [Counted("R1", read_quantity("20 kg")), Counted("N1", read_quantity("60 pcs"))]
    by_weight, by_piece = count_stock(both, scale="ga-late", said=told)
    assert flags_of(told.key) == ["gauge-overdue"]
    assert (by_weight.scale.code, by_piece.scale) == ("GA-LATE", None)
    with refuses("unknown", "GHOST"):
        count_stock(both, scale="GHOST", said=builders.said(4))


def test_the_page_does_not_lead_the_hand_and_tells_the_difference_afterwards():
    lot = item_by_code("R1")
    blind = tablet("stores").get(reverse("items:count")).content.decode()
    assert "R1" in blind
    assert not any(told in blind for told in ("20 kg", "20000", "5 kg"))
    sent = press("count", **{f"lot-{lot.pk}": "19980"})  # a bare number is in the unit of the part
    assert sent.status_code == 302
    page = tablet("stores").get(reverse("items:counts")).content.decode()
    assert "1 count differs, and nobody has said why" in page
    assert "20 g less" in page
    assert "where 20 kg were due" in tablet("stores").get(reverse("items:lot", args=["R1"])).content.decode()
    assert press("count_explain", StockCount.objects.get().pk, why="scales").status_code == 302
    page = tablet("stores").get(reverse("items:counts")).content.decode()
    assert "Every difference has its reason" in page
    assert "The scales and rounding" in page


def test_a_lot_that_is_not_on_the_list_is_counted_by_its_code_and_half_a_line_is_asked_for():
    assert press("count", other="R2", other_amount="5 kg").status_code == 302
    assert StockCount.objects.get().item.code == "R2"
    assert "or neither" in press("count", other="R2").content.decode()
    assert "Write at least one amount." in press("count").content.decode()
    assert StockCount.objects.count() == 1


def test_counts_are_narrowed_and_taken_along_as_numbers():
    counted(("R1", "19.98 kg"), ("R2", "5 kg"))
    file = tablet("stores").get(reverse("items:counts"), {"which": "waits", "form": "csv"}).content.decode("utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(file))
    assert (row["Lot"], row["Counted"], row["Difference"], row["Unit"]) == ("R1", "19980", "-20", "g")
