"""Pages of Review: the bench, departures, entries to place, swapped labels."""

import csv
from dataclasses import replace
from datetime import datetime
from html import unescape
from urllib.parse import quote

import pytest
from django.urls import reverse

from plant.people.queries import works_zone
from records.items.actions import place_hold
from records.items.queries import holds_on, item_by_code
from records.ledger.clock import clock
from records.ledger.models import Flag, Unplaced
from records.quality import queries
from records.quality.bench import matters
from records.quality.models import Countersign, Disposition, Nonconformance
from records.quality.tables import KINDS
from records.steps.actions import log_step
from tests import desks, worlds

pytestmark = [pytest.mark.usefixtures("straight_week"), pytest.mark.django_db]


@pytest.fixture
def waiting():
    worlds.a_straight_week()
    return worlds.matters_waiting()


def text(response) -> str:
    return response.content.decode()


def test_the_bench_counts_what_waits_and_names_it(waiting):
    page = text(worlds.signed_in("review").get(reverse("quality:bench")))
    assert "5 matters wait for a decision" in page
    for told in (waiting.departure, waiting.decided, "With TB-0004", "label hard to read"):
        assert told in page, told


def test_who_may_not_decide_is_shown_no_way_to(waiting):
    page = text(worlds.signed_in("auditor").get(reverse("quality:bench")))
    assert reverse("trace:hold_lift", args=[waiting.hold]) not in page
    assert waiting.departure in page


def led_to(told: str) -> tuple[str, str]:
    """Where a code leads that stands in the address of a departure, and the page there."""
    address = reverse("quality:departure", args=["CODE"]).replace("CODE", quote(told, safe="/"))
    answer = worlds.signed_in("review").get(address, follow=True)
    assert answer.status_code == 200, told
    return answer.request["PATH_INFO"], unescape(text(answer))


def test_a_departures_code_is_read_like_any_other_of_a_desk(waiting):
    own = reverse("quality:departure", args=[waiting.departure])
    for told in (waiting.departure.lower(), f"(21){waiting.departure}", f"https://id.example/8004/{waiting.departure}"):
        assert led_to(told)[0] == own, told


@pytest.mark.parametrize(
    ("told", "says"),
    [
        (f"(21){worlds.HERE}(90)L3", f"Label 3 of {worlds.HERE} was never printed here."),
        (f"[)>06S{worlds.HERE}Z1", "The separators of this label were lost on the way"),
        ("tw26004202", worlds.HERE),
        ("NC-26-999999-9", "No such code here: NC-26-999999-9"),
    ],
)
def test_what_was_scanned_in_place_of_a_departure_is_told_or_led_to(waiting, told, says):
    assert says in led_to(told)[1]


def test_the_pages_about_an_item_open_its_symbol_and_lead_on_what_they_cant_read(waiting):
    review = worlds.signed_in("review")
    for name in ("departure_note", "unit_aside", "unit_rework"):
        assert worlds.HERE in text(review.get(reverse(f"quality:{name}", args=[f"(21){worlds.HERE}"])))
        astray = review.get(reverse(f"quality:{name}", args=["TW-26-00420"]))
        assert astray.headers["Location"] == f"{reverse('trace:find')}?code=TW-26-00420"
    assert worlds.signed_in("operator").get(reverse("quality:departure_note", args=["TW-9"])).status_code == 404


def test_a_departure_is_noted_from_its_item(waiting):
    address = reverse("quality:departure_note", args=[worlds.SHIPPED])
    worlds.press(worlds.signed_in("operator"), address, defect="field", words="crack at the bracket")
    noted = Nonconformance.objects.get(item=item_by_code(worlds.SHIPPED))
    assert (noted.defect, str(noted.words)) == ("field", "crack at the bracket")


def test_a_decision_needs_its_reason(waiting):
    address = reverse("quality:departure_decide", args=[waiting.departure])
    response = worlds.press(worlds.signed_in("review"), address, choice="rework", words="")
    assert response.status_code == 200
    assert not Disposition.objects.filter(nonconformance__code=waiting.departure).exists()


def test_who_decided_cannot_countersign(waiting):
    address = reverse("quality:departure_countersign", args=[waiting.decided])
    response = worlds.press(worlds.signed_in("quill"), address)
    assert "Another person must sign beside you" in text(response)
    assert not Countersign.objects.exists()


def test_a_second_person_countersigns_and_the_bench_lets_go(waiting):
    address = reverse("quality:departure_countersign", args=[waiting.decided])
    assert worlds.press(worlds.signed_in("manager"), address).status_code == 302
    assert list(queries.decisions_to_countersign()) == []


def test_an_entry_is_set_aside_with_a_reason_only(waiting):
    review, address = worlds.signed_in("review"), reverse("quality:unplaced_settle", args=[waiting.unplaced])
    assert "Write why this entry is set aside" in text(worlds.press(review, address, reason=""))
    assert worlds.press(review, address, reason="scanned twice").status_code == 302
    assert list(queries.entries_to_place()) == []


def test_two_people_free_swapped_units(waiting):
    address, unit = reverse("quality:swap_confirm", args=[waiting.swap]), item_by_code("TB-0003")
    worlds.press(worlds.signed_in("review"), address, words="weighed both")
    assert len(holds_on([unit.pk])) == 1
    worlds.press(worlds.signed_in("lead"), address, words="winding marks")
    assert holds_on([unit.pk]) == []


def test_a_swap_since_no_time_is_told_at_its_field(waiting):
    sent = {"one": "TB-0001", "other": "TB-0002", "since": "yesterday", "words": "mixed up"}
    response = worlds.press(worlds.signed_in("review"), reverse("quality:labels_swap"), **sent)
    assert "is no time" in text(response)


def a_marked_entry() -> Flag:
    """A hold is ignored: what was done is kept, and marked."""
    with clock.at(worlds.AFTER):
        place_hold("TB-0001", reason="doubt", said=worlds.by())
        log_step("TB-0001", step="wind", said=replace(worlds.by("marta"), done=True))
    return Flag.objects.latest("pk")


def test_an_entry_that_was_marked_waits_until_somebody_says_what_was_found(waiting):
    flag, review = a_marked_entry(), worlds.signed_in("review")
    address, bench = reverse("quality:flag_answer", args=[flag.pk]), reverse("quality:bench")
    assert address in text(review.get(bench))
    assert "Fill this in." in text(worlds.press(review, address, found="stands", words=""))
    assert worlds.press(review, address, found="stands", words="Marta wound it before the hold").status_code == 302
    page = text(review.get(bench))
    assert address not in page
    assert "Marta wound it before the hold" in page
    assert "Somebody has answered this one already" in text(
        worlds.press(review, address, found="stands", words="again")
    )


def test_a_signal_waits_on_the_bench_like_everything_else(waiting):
    desks.measured(worlds.HERE, "shell-width", *["34.90", "34.91"] * 5, "39.9")
    page = text(worlds.signed_in("review").get(reverse("quality:bench")))
    assert "Shell width on OSIER: above the upper limit" in page
    assert "Answer the signal" in page


def test_only_what_is_allowed_as_it_is_waits_for_a_second_person_and_never_for_the_one_who_decided(waiting):
    countersign = reverse("quality:departure_countersign", args=[waiting.decided])
    page = reverse("quality:departure", args=[waiting.decided])
    assert countersign not in text(worlds.signed_in("quill").get(page))
    assert countersign in text(worlds.signed_in("manager").get(page))
    decide = reverse("quality:departure_decide", args=[waiting.departure])
    worlds.press(worlds.signed_in("quill"), decide, choice="rework", words="polish it again")
    told = text(worlds.signed_in("manager").get(reverse("quality:departure", args=[waiting.departure])))
    assert "Countersign" not in told


def test_an_entry_is_settled_by_one_that_is_chosen_from_those_near_it(waiting):
    review, address = worlds.signed_in("review"), reverse("quality:unplaced_settle", args=[waiting.unplaced])
    unplaced = Unplaced.objects.get(entry__key=waiting.unplaced)
    near = list(queries.entries_near(unplaced))
    assert near
    assert f'value="{near[0].key}"' in text(review.get(address))
    assert worlds.press(review, address, placed_by=str(near[0].key)).status_code == 302
    assert (unplaced.settled.how, unplaced.settled.placed_by) == ("placed", near[0].key)


def decided(client, **asked) -> list:
    return [row.record for row in client.get(reverse("quality:past"), asked).context["list"].table.rows]


def test_what_is_decided_leaves_the_bench_for_the_list_of_what_was_decided(waiting):
    review = worlds.signed_in("review")
    before = len(decided(review))
    worlds.press(review, reverse("trace:hold_lift", args=[waiting.hold]), words="read again")
    now = decided(review)
    assert (len(now) - before, now[0].kind, now[0].code, now[0].why) == (1, "hold", worlds.HERE, "read again")
    page = text(review.get(reverse("quality:past")))
    assert f"{len(now)} matters were decided" in page
    assert "read again" in page


def test_every_kind_of_matter_is_listed_once_it_is_decided(waiting):
    review = worlds.signed_in("review")
    flag, other = desks.a_flag(), worlds.signed_in("lead")
    worlds.press(review, reverse("quality:flag_answer", args=[flag]), found="stands", words="seen with Iris")
    worlds.press(review, reverse("quality:unplaced_settle", args=[waiting.unplaced]), reason="told again by hand")
    worlds.press(other, reverse("quality:swap_confirm", args=[waiting.swap]), words="by the figure")
    desks.a_recipe()
    run = desks.a_cure([worlds.HERE], file=desks.cure_file("bad.csv", soak_min=20))
    worlds.press(review, reverse("runs:run_decide", args=[run.code]), choice="fail", words="too cold")
    desks.measured(worlds.HERE, "shell-width", *["34.90", "34.91"] * 4, "39.9")
    told = [row for row in matters() if row.act == "signal answered"][-1]
    worlds.press(review, told.address, cause_found="no", removed="no", words="looked at")
    worlds.press(review, reverse("trace:hold_lift", args=[waiting.hold]), words="read again")
    assert {row.kind for row in decided(review)} == set(KINDS)
    for kind in KINDS:
        assert {row.kind for row in decided(review, kind=kind)} == {kind}


def test_decided_matters_are_narrowed_and_taken_along_with_time_and_words(waiting):
    review = worlds.signed_in("review")
    day = clock.now().astimezone(works_zone()).date()
    worlds.press(review, reverse("trace:hold_lift", args=[waiting.hold]), words="=1+1")
    assert [row.why for row in decided(review, code=worlds.HERE.lower(), kind="hold", since=str(day))] == ["=1+1"]
    assert decided(review, until="2020-01-01") == decided(review, by="nobody at all") == []
    taken = text(review.get(reverse("quality:past"), {"form": "csv", "kind": "hold", "code": worlds.HERE}))
    line = next(csv.DictReader(taken.splitlines()))
    assert (line["Why"], line["What was decided"], line["By"]) == ("'=1+1", "Lifted", "The review")
    assert datetime.fromisoformat(line["Decided"]).utcoffset() is not None
